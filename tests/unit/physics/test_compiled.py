"""Where compiled functions are kept, tried on two of them in a copy of the package."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from pipeline.physics import compiled

PACKAGE = Path(compiled.__file__).parents[1]
CALLED = """
from pipeline.physics.compiled import compiled

@compiled
def called(value):
    return value + {more}
"""
CALLER = """
from pipeline.physics.called import called
from pipeline.physics.compiled import compiled

@compiled
def caller(value):
    return called(value)
"""
RUN = """
from pipeline.physics.caller import caller
print(caller(1), sum(caller.stats.cache_hits.values()))
"""


@pytest.fixture
def package(tmp_path):
    folder = tmp_path / "pipeline"
    (folder / "physics").mkdir(parents=True)
    shutil.copy(PACKAGE / "__init__.py", folder)
    for name in ("__init__.py", "compiled.py", "reason.py"):
        shutil.copy(PACKAGE / "physics" / name, folder / "physics")
    (folder / "physics" / "called.py").write_text(CALLED.format(more=1))
    (folder / "physics" / "caller.py").write_text(CALLER)
    return folder / "physics"


def run(package, command=RUN, **environment):
    """What the caller gives, and whether it was found compiled."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("NUMBA_")}
    home = package.parents[1]
    environment = kept | {"PYTHONPATH": str(home), "XDG_CACHE_HOME": str(home)} | environment
    process = [sys.executable, "-W", "error", "-c", command]
    done = subprocess.run(
        process, env=environment, cwd=home, check=True, capture_output=True, text=True
    )
    assert done.stderr == ""
    return done.stdout.split()


def kept_in(folder):
    return {path.parent.name for path in folder.rglob("*.nbc")}


def test_what_was_compiled_is_kept_beside_the_sources_until_one_that_is_called_changes(package):
    assert run(package) == ["2", "0"]
    assert run(package) == ["2", "1"]
    assert kept_in(package.parents[1]) == {"__pycache__"}
    (package / "called.py").write_text(CALLED.format(more=10))
    assert run(package) == ["11", "0"]


def test_a_constant_that_changes_outside_the_folder_is_compiled_anew(package):
    outside = package.parent / "caller.py"
    command = RUN.replace("physics.caller", "caller")
    outside.write_text(f"{CALLER.rstrip()} + MORE\nMORE = 1\n")
    assert [run(package, command), run(package, command)] == [["3", "0"], ["3", "1"]]
    outside.write_text(f"{CALLER.rstrip()} + MORE\nMORE = 7\n")
    assert run(package, command) == ["9", "0"]


def test_where_the_package_cannot_be_written_it_is_kept_with_the_user(package):
    (package / "__pycache__").write_text("a file where the folder should be")
    assert run(package) == ["2", "0"]
    assert run(package) == ["2", "1"]
    assert kept_in(package) == set()
    assert kept_in(package.parents[1] / "numba") != set()


def test_where_nothing_can_be_written_it_is_compiled_and_works_all_the_same(package):
    file = package / "__pycache__"
    file.write_text("a file where the folder should be")
    assert run(package, XDG_CACHE_HOME=str(file)) == ["2", "0"]
    assert kept_in(package.parents[1]) == set()


def test_it_is_kept_where_the_environment_says(package, tmp_path):
    chosen = tmp_path / "chosen"
    assert run(package, NUMBA_CACHE_DIR=str(chosen)) == ["2", "0"]
    assert kept_in(chosen) != set()
    assert kept_in(package) == set()


def test_columns_are_of_one_kind_whatever_is_given():
    values = np.arange(12.0)
    given = [
        values, values[::2], values.astype(np.float32), list(values), np.broadcast_to(1.0, 9)
    ]  # fmt: skip
    for one in given:
        column = compiled.column(one)
        assert column.tolist() == list(one)
        assert (column.dtype, column.flags.c_contiguous) == (np.float64, True)
        assert not column.flags.writeable
    assert values.flags.writeable
    assert compiled.whole_column([0, 3]).dtype == np.int64
