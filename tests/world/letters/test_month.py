"""Letters of a month, as a mail reader finds them; their repeat; and what late logs change."""

import email
import email.policy
import re
import shutil
from datetime import date, datetime
from pathlib import Path

from pipeline.base.period import Month
from pipeline.cli.schedule import overdue
from pipeline.config.load import load_network
from pipeline.outgoing.monthly import is_sent, rehearse, send
from pipeline.run import run
from pipeline.warehouse.connection import open_file

SEPTEMBER, OCTOBER = Month(2026, 9), Month(2026, 10)
IN_NOVEMBER = datetime(2026, 11, 9, 6, 30)


def read(folder: Path) -> dict[tuple[str, str], email.message.EmailMessage]:
    """Every letter that left, by month and reader."""
    found = {}
    for path in sorted((folder / "letters").glob("*.eml")):
        one = email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
        month = one["Message-ID"].removeprefix("<")[:7]
        found[month, one["To"].split("@")[0].strip("<")] = one
    return found


def text_of(message) -> str:
    return message.get_body(("plain",)).get_content().replace("\r\n", "\n")


def tree(folder: Path) -> dict[str, tuple[bytes, int]]:
    return {
        str(path.relative_to(folder)): (path.read_bytes(), path.stat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_each_reader_gets_a_month_once_and_in_the_form_asked_for(sent):
    letters = read(sent)
    assert sorted(letters) == [
        (month, who) for month in ("2026-09", "2026-10") for who in ("lead", "outer", "umber")
    ]
    lead, umber = letters["2026-10", "lead"], letters["2026-10", "umber"]
    assert lead.get_body(("html",)) is not None and umber.get_body(("html",)) is None
    assert [one.get_filename() for one in lead.iter_attachments()] == ["group.csv", "index.html"]
    (pack,) = umber.iter_attachments()
    assert pack.get_filename() == "umber-bay-2026-10-31.pdf"
    assert pack.get_payload(decode=True).startswith(b"%PDF-")
    assert lead["Subject"].startswith("October 2026, Saltmarsh Isles Clinics: ")


def test_the_second_run_sends_nothing_and_changes_no_byte(sent, no_wait):
    before = tree(sent / "letters") | tree(sent / "pages" / "2026-10")
    again = send(load_network(sent), OCTOBER, IN_NOVEMBER, {}, no_wait)
    assert (again.sent, again.refused, again.left) == (0, 0, 0)
    assert tree(sent / "letters") | tree(sent / "pages" / "2026-10") == before


def test_a_site_hears_of_itself_alone(sent):
    letters = read(sent)
    names = {
        line.split(",")[1] for line in (sent / "sites.csv").read_text("utf-8").splitlines()[1:]
    }
    text = text_of(letters["2026-10", "umber"])
    assert {name for name in names if name in text} == {"Umber Bay"}


def one(con, statement: str, **parameters) -> tuple:
    return con.execute(statement, parameters).fetchone()


def test_the_numbers_of_a_letter_are_those_of_the_tables(sent, tmp_path):
    """The group's letter, taken apart, against sums made anew from the tables."""
    folder = Path(shutil.copytree(sent, tmp_path / "saltmarsh"))
    run(load_network(folder), date(2026, 10, 31), IN_NOVEMBER)
    text = text_of(read(sent)["2026-10", "lead"])
    with open_file(folder / "state" / "warehouse.duckdb") as con:
        states = dict(
            con.execute(
                "SELECT state, count(*), FROM measure.state WHERE level = 'unit' GROUP BY state"
            ).fetchall()
        )
        units, usual = sum(states.values()), states.get("usual", 0)
        run_count, stopped = one(
            con,
            """
            SELECT count(*), count(*) FILTER (is_stopped), FROM model.cycle
            WHERE is_load_cycle AND NOT is_false_start AND started_on <= DATE '2026-10-31'
                AND started_on > DATE '2025-10-31'
            """,
        )
        month_run, month_stopped = one(
            con,
            """
            SELECT count(*), count(*) FILTER (is_stopped), FROM model.cycle
            WHERE is_load_cycle AND NOT is_false_start
                AND started_on BETWEEN DATE '2026-10-01' AND DATE '2026-10-31'
            """,
        )
        tests, growth = one(
            con,
            """
            SELECT count(*), count(*) FILTER (state = 'growth'), FROM model.test
            WHERE kind = 'biological'
                AND exposed_on BETWEEN DATE '2026-10-01' AND DATE '2026-10-31'
            """,
        )
        overdue_count, longest = one(
            con,
            "SELECT count(*), max(days_overdue), FROM fact.spore_due WHERE days_overdue > 0",
        )
        read_count, used, files = one(
            con,
            """
            SELECT sum(file.read_count)::BIGINT, sum(used_count)::BIGINT, count(*),
            FROM stage.file AS file
            JOIN model.balance USING (file_id)
            """,
        )
    expected = [
        f"{states['act_now']:,} units need action now. {usual:,} of {units:,} ran as usual.",
        f"({stopped:,} of {run_count:,};",
        f"* {month_stopped:,} of {month_run:,} load cycles stopped in the month",
        f"* {tests:,} spore tests exposed in the month ({growth} with growth)",
        f"{used:,} of {read_count:,} lines of the logs used ({files:,} files",
    ]
    if overdue_count > 1:
        expected.append(f"{overdue_count} spore tests are overdue, the longest by {longest} days")
    for sentence in expected:
        assert sentence in text
    assert growth > 0 or "no growth reported so far" in text


def numbers(text: str) -> list[str]:
    # An address is told in the text and led to in the HTML.
    return re.findall(r"\d[\d,.]*", re.sub(r"mailto:\S+", "", text))


def test_both_parts_of_every_letter_carry_the_same_numbers(sent):
    for message in read(sent).values():
        html = message.get_body(("html",))
        if html is None:
            continue
        body = html.get_content().split("<body", 1)[1]
        shown = re.sub(r"<[^>]+>|&#?\w+;", " ", f"<body{body}")
        assert numbers(shown) == numbers(text_of(message))


def test_what_late_logs_change_is_told_by_the_next_letter_with_old_new_and_why(sent):
    letters = read(sent)
    september, october = (text_of(letters[month, "lead"]) for month in ("2026-09", "2026-10"))
    said = re.search(r"\* ([\d,]+) of ([\d,]+) load cycles stopped in the month", september)
    told = re.search(
        r"\* September 2026: load cycles ([\d,]+), were ([\d,]+).*?"
        r"(\d+) log files? came after that letter\.",
        october,
    )
    assert told[2] == said[2]
    assert int(told[1].replace(",", "")) > int(told[2].replace(",", ""))
    late = [path for path in (sent / "late").rglob("*.*") if path.is_file()]
    assert 0 < int(told[3]) <= len(late)
    with open_file(sent / "state" / "warehouse.duckdb") as con:
        (run_count,) = one(
            con,
            """
            SELECT count(*), FROM model.cycle WHERE is_load_cycle AND NOT is_false_start
                AND started_on BETWEEN DATE '2026-09-01' AND DATE '2026-09-30'
            """,
        )
    assert told[1] == f"{run_count:,}"
    assert "said otherwise" not in september


def test_the_dead_mans_check_is_quiet_after_the_letters_and_loud_without_them(sent, tmp_path):
    network = load_network(sent)
    assert is_sent(network, OCTOBER) and not is_sent(network, Month(2026, 11))
    early, late = datetime(2026, 12, 8, 12), datetime(2026, 12, 9, 12)
    assert network.schedule.due_on(Month(2026, 11)) == date(2026, 12, 7)
    assert not any("letters of" in told for told in overdue(network, early))
    (told,) = [told for told in overdue(network, late) if "letters of" in told]
    assert told.startswith("The letters of 2026-11 were due on 2026-12-07 and have not all left")
    assert any("No nightly run has ever ended well" in told for told in overdue(network, early))


def test_a_rehearsal_writes_letters_to_look_at_and_sends_none(sent, tmp_path):
    folder = Path(shutil.copytree(sent, tmp_path / "saltmarsh"))
    before = tree(folder / "letters")
    target, count = rehearse(load_network(folder), OCTOBER, IN_NOVEMBER, {}, None)
    assert count == 3 and len(list(target.glob("*.eml"))) == 3
    assert tree(folder / "letters") == before
    rehearse(load_network(folder), OCTOBER, IN_NOVEMBER, {}, "me@saltmarsh.example")
    new = tree(folder / "letters").keys() - before.keys()
    messages = [
        email.message_from_bytes((folder / "letters" / name).read_bytes(),
                                 policy=email.policy.default)
        for name in new
    ]  # fmt: skip
    assert {one["To"] for one in messages} == {"me@saltmarsh.example"}
    assert all(one["Subject"].startswith("[Rehearsal for ") for one in messages)
    assert len({one["Message-ID"] for one in messages}) == 3
