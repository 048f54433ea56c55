"""Who may import whom, read from the syntax trees of pipeline/."""

import ast
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "pipeline"
MODULES = sorted(path for path in PACKAGE.rglob("*.py") if "_assets" not in path.parts)

STEPS = {
    "pull",
    "land",
    "stage",
    "check",
    "judge",
    "practice",
    "measure",
    "render",
    "deliver",
    "scale",
    "demo",
    "sniff",
}
BELOW_STEPS = {"physics", "warehouse", "config", "base"}
MAY_IMPORT = {
    "cli": STEPS | BELOW_STEPS | {"edition", "outgoing", "run", "tryout"},
    "outgoing": STEPS | BELOW_STEPS | {"edition", "run"},
    "tryout": STEPS | BELOW_STEPS | {"run"},
    "run": STEPS | BELOW_STEPS | {"edition"},
    "edition": STEPS | BELOW_STEPS,
    **dict.fromkeys(STEPS, BELOW_STEPS),
    "physics": {"config", "base"},
    "warehouse": {"config", "base"},
    "config": {"base"},
    "base": set(),
}
"""A package may import itself and these; a step never imports another step."""

DOORS = {
    "great_expectations": {"check/verify.py", "check/duckdb_gx.py"},
    "numba": {"physics/compiled.py"},
    "smtplib": {"deliver/transport.py"},
    "jinja2": {"render/"},
    "fsspec": {"pull/"},
    "typst": {"render/pack/pack.py"},
    "PIL": {"render/letter_picture.py"},
    "icalendar": {"render/calendar.py"},
}
"""Each outside thing has one door: the only files, or the only package, that may import it."""

CLOCK_AND_ENVIRONMENT = {
    ("datetime", "now"),
    ("datetime", "utcnow"),
    ("datetime", "today"),
    ("date", "today"),
    ("time", "time"),
    ("os", "environ"),
    ("os", "getenv"),
}


def place(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def layer(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported(path: Path) -> list[str]:
    names = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{place(path)} imports relatively; write the whole name"
            names += [f"{node.module}.{alias.name}" for alias in node.names]
    return names


def attributes(path: Path) -> set[tuple[str, str]]:
    return {
        (node.value.id, node.attr)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name)
    }


@pytest.mark.parametrize("path", MODULES, ids=place)
def test_a_module_imports_only_from_the_layers_below_it(path):
    here = layer(path)
    if here == "__init__":
        assert not imported(path)
        return
    for name in imported(path):
        top, _, rest = name.partition(".")
        there = rest.split(".")[0]
        if top == "pipeline" and there not in {here, "__version__"}:
            assert there in MAY_IMPORT[here], f"{here} imports {name}"


@pytest.mark.parametrize("path", MODULES, ids=place)
def test_an_outside_thing_is_imported_only_by_its_door(path):
    for name in imported(path):
        for door in DOORS.get(name.split(".")[0], {place(path)}):
            if place(path).startswith(door):
                break
        else:
            pytest.fail(f"{place(path)} imports {name}")


@pytest.mark.parametrize("path", MODULES, ids=place)
def test_only_the_connection_module_opens_databases(path):
    opens = ("duckdb", "connect") in attributes(path)
    assert opens == (place(path) == "warehouse/connection.py")


@pytest.mark.parametrize("path", MODULES, ids=place)
def test_only_the_command_line_reads_the_clock_and_the_environment(path):
    if layer(path) != "cli":
        assert not attributes(path) & CLOCK_AND_ENVIRONMENT


def test_no_two_packages_import_each_other_and_no_modules_form_a_circle():
    modules = {
        "pipeline."
        + place(path).removesuffix(".py").removesuffix("/__init__").replace("/", "."): path
        for path in MODULES
    }
    graph = {
        name: {
            target
            for used in imported(path)
            for target in (used, used.rpartition(".")[0])
            if target in modules and target != name
        }
        for name, path in modules.items()
    }
    assert len(list(TopologicalSorter(graph).static_order())) >= len(modules)


def test_files_stay_small():
    sizes = {place(path): len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES}
    assert {name: size for name, size in sizes.items() if size > 250} == {}
