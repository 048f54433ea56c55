"""The walk over a server's folders, against fsspec's own glob where that hides nothing."""

import fsspec
import pytest

from pipeline.pull.tree import matched

FILES = ("a.csv", "b.txt", "x/a.csv", "x/y/a.csv", "x/y/b.txt", "x/z/c.csv", "[1].csv")


@pytest.fixture
def system():
    memory = fsspec.filesystem("memory")
    for name in FILES:
        memory.pipe(f"/tree/{name}", b"1")
    yield memory
    memory.rm("/tree", recursive=True)


def files(found) -> list[str]:
    return sorted(one["name"] for one in found if one["type"] == "file")


@pytest.mark.parametrize(
    "pattern",
    ["*.csv", "*/*.csv", "**/*.csv", "**", "x/*/a.csv", "x/**/a.csv", "*/y/*", "?.csv",
     "[ab].*", "nowhere/*.csv", "*/nowhere/*", "*/y/b.txt", "[0-9].csv"],
)  # fmt: skip
def test_the_walk_finds_what_a_glob_finds(system, pattern):
    peer = system.glob(f"/tree/{pattern}", detail=True).values()
    assert files(matched(system, f"/tree/{pattern}")) == files(peer)


def test_a_folder_that_may_not_be_listed_is_no_empty_one(system, monkeypatch):
    listed = system.ls

    def refused(path, **more):
        if path.rstrip("/").endswith("y"):
            raise PermissionError(path)
        return listed(path, **more)

    monkeypatch.setattr(system, "ls", refused)
    with pytest.raises(PermissionError):
        list(matched(system, "/tree/**/*.csv"))


def test_a_tree_without_an_end_is_left_after_some_depth():
    class Endless:
        def ls(self, folder, detail):
            return [{"name": f"{folder}again", "type": "directory"}]

    assert list(matched(Endless(), "/tree/**/*.csv")) == []
