"""What loading and running the checks costs others: nothing until there are rows, no connection."""

import subprocess
import sys

LIGHT = """
import sys
import pipeline.check.verify, pipeline.config.rules
pipeline.config.rules.rules()
loaded = {"great_expectations", "sqlalchemy", "pandas"} & set(sys.modules)
assert not loaded, f"loaded {loaded}"
"""

SILENT = """
import sys

def watch(event, arguments):
    if event.startswith("socket.") and event != "socket.gethostname":
        raise AssertionError(f"{event} {arguments}")

sys.addaudithook(watch)
from pipeline.check.verify import check_rows
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_memory

con = open_memory()
build.prepare(con)
con.execute("INSERT INTO stage.cycle (file_id, line, site_id) VALUES ('f', 2, 'gannet-quay')")
assert {run.verdict for run in check_rows(con, ["f"])} == {"fail", "not_applicable", "pass", "warn"}
assert "great_expectations" in sys.modules
"""


def run(program):
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", program], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""


def test_reading_the_rules_and_importing_the_checks_loads_nothing_heavy():
    run(LIGHT)


def test_a_check_opens_no_socket_and_warns_of_nothing():
    run(SILENT)
