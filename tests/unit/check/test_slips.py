"""A serial that nobody knows, and the known one that it may mean."""

from datetime import date

import pytest

from pipeline.check.slips import is_one_slip
from pipeline.check.verify import check_rows

SLIPS = [
    # written     meant      one slip
    ("SI-O066", "SI-0066", True),
    ("SI-OO66", "SI-0066", True),
    ("5I-0066", "SI-0066", True),
    ("SI-0I66", "SI-0166", True),
    ("SI-0068", "SI-006B", True),
    ("si-0066", "SI-0066", True),
    ("SI-0606", "SI-0066", True),
    ("IS-0066", "SI-0066", True),
    ("SI-066", "SI-0066", True),
    ("SI-00666", "SI-0066", True),
    ("SI0066", "SI-0066", True),
    ("SI-0066", "SI-0066", False),
    ("SI-0067", "SI-0066", False),
    ("SI-6006", "SI-0066", False),
    ("SI-66", "SI-0066", False),
    ("", "SI-0066", False),
    ("", "S", True),
]


@pytest.mark.parametrize(("written", "meant", "is_slip"), SLIPS)
def test_one_slip_is_a_look_alike_or_one_mistake_in_typing(written, meant, is_slip):
    assert is_one_slip(written, meant) is is_slip
    assert is_one_slip(meant, written) is is_slip


@pytest.mark.parametrize(
    ("serial", "named"),
    [
        ("SMI-1O01", "SMI-1001"),
        ("SMI-101", "SMI-1001"),
        ("SMI-0201", None),
        ("SMI-100", "SMI-1001 and SMI-1002"),
        ("X'; DROP TABLE", None),
    ],
)
def test_the_held_line_names_the_units_of_the_site_that_may_be_meant(
    con, put, examples, serial, named
):
    row = examples["cycle"]["row"]
    put("cycle", [row | {"unit_serial": serial}])
    check_rows(con, ["file-1"])
    [message] = con.execute(
        "SELECT message FROM stage.held WHERE rule_id = 'CYC-03'"
    ).fetchone() or [None]
    assert message.endswith(
        f" One slip away from {named}, of this site: correct the line if that is meant."
        if named
        else "add it to units.csv."
    )


def test_units_of_other_sites_are_not_suggested(con, put, examples):
    con.execute("UPDATE register.assignment SET site_id = 'high-moor'")
    put("cycle", [examples["cycle"]["row"] | {"unit_serial": "SMI-1O01"}])
    check_rows(con, ["file-1"])
    assert con.execute(
        "SELECT count(*) FROM stage.held WHERE message LIKE '%slip away%'"
    ).fetchone() == (0,)


@pytest.mark.parametrize(
    ("serial", "told"),
    [
        ("SMI-1O01", "SMI-1001"),
        # Two may be meant, or none: it stays as it is written.
        ("SMI-100", "SMI-100"),
        ("SMI-0201", "SMI-0201"),
    ],
)
def test_a_held_test_is_found_from_the_page_of_the_only_unit_that_may_be_meant(
    con, put, examples, serial, told
):
    row = examples["test"]["row"]
    put("test", [row, row | {"unit_serial": serial}])
    check_rows(con, ["file-1"])
    assert con.execute(
        "SELECT line, unit_serial, kind, exposed_on FROM stage.held_test"
    ).fetchall() == [(3, told, row["kind"], date.fromisoformat(row["exposed"][:10]))]
    assert con.execute("SELECT line FROM stage.test").fetchall() == [(2,)]
