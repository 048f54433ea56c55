"""Every kind of page and letter against the W3C's rules for HTML, by the Nu Html Checker.

It is a Java program from npm (vnu-jar), which .ci/run puts beside the Python packages. Where it is
not installed these tests are skipped, unless HOLDTIME_REQUIRE_VALIDATOR is set.
"""

import importlib.util
import json
import os
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from pipeline.config.mail import Mail
from pipeline.render.letters import letters, watch_letter
from pipeline.render.tables.tables import Tables

MAIL = Mail(
    "Reports", "reports@saltmarsh.example", folder=Path("out"),
    unsubscribe="stop@saltmarsh.example", pages_url="https://pages.saltmarsh.example/latest",
)  # fmt: skip
CHECKER = Path(sys.prefix) / "vnu/node_modules/vnu-jar/build/dist/vnu.jar"


@pytest.fixture(scope="module")
def faults():
    """What the checker finds in documents: file name and message, errors alone."""
    java = shutil.which("java")
    if not (java and CHECKER.exists()):
        if os.environ.get("HOLDTIME_REQUIRE_VALIDATOR"):
            pytest.fail(f"HOLDTIME_REQUIRE_VALIDATOR is set, and there is no Java or no {CHECKER}")
        pytest.skip("there is no Java, or no Nu Html Checker")

    def found(paths: list[Path]) -> list[tuple[str, str]]:
        given = [java, "-Xss8m", "-jar", CHECKER, "--errors-only", "--exit-zero-always"]
        run = subprocess.run(
            [*given, "--stdout", "--format", "json", *paths], capture_output=True, check=True
        )
        messages = json.loads(run.stdout)["messages"]
        return [(Path(one["url"]).name, one["message"]) for one in messages]

    return found


@pytest.fixture(scope="module")
def letter_files(tmp_path_factory) -> list[Path]:
    """The letters of a month, those in their place when the checks did not run, and a watch."""
    path = Path(__file__).parents[1] / "unit" / "render" / "conftest.py"
    spec = importlib.util.spec_from_file_location("small_network", path)
    small = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(small)
    with small.open_memory() as con:
        small.prepare(con)
        small.fill(con)
        network = replace(small.network(), mail=MAIL)
        hollow = letters(Tables(con, network, small.AS_OF))
        con.execute("UPDATE model.check SET verdict = 'pass'")
        tables = Tables(con, network, small.AS_OF)
        full = letters(tables)
        new = {row.finding_id for row in tables.findings}
        watch = watch_letter(tables, "network", "network", new, "2026-11-01")
    assert all(one.is_hollow for one in hollow) and not any(one.is_hollow for one in full)
    folder = tmp_path_factory.mktemp("letters")
    files = []
    for kind, made in (("hollow", hollow), ("month", full), ("watch", [watch])):
        for one in made:
            files.append(folder / f"{kind}-{one.name}.html")
            files[-1].write_text(one.html, encoding="utf-8")
    return files


def test_no_page_breaks_a_rule_of_html(faults, folder):
    pages = sorted(folder.glob("*.html"))
    assert len(pages) > 20
    assert faults(pages) == []


def test_no_letter_breaks_a_rule_of_html(faults, letter_files):
    assert {path.name.split("-")[0] for path in letter_files} == {"hollow", "month", "watch"}
    assert faults(letter_files) == []


def test_the_checker_sees_a_fault(faults, tmp_path):
    path = tmp_path / "faulty.html"
    path.write_text("<!doctype html><html lang=en><title>t</title><p><td>x", encoding="utf-8")
    assert {name for name, _ in faults([path])} == {"faulty.html"}
