"""Each untidy log of the corpus ends as its case says: every line used, held or duplicate."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

_COUNTS = """
    SELECT
        count(*) FILTER (file.state = 'rejected'),
        coalesce(sum(file.read_count), 0)::BIGINT,
        coalesce(sum(used_count), 0)::BIGINT,
        coalesce(sum(held_count), 0)::BIGINT,
        coalesce(sum(duplicate_count), 0)::BIGINT,
    FROM stage.file AS file
    LEFT JOIN model.balance AS balance USING (file_id)
    WHERE feed IN (SELECT unnest($feeds))
"""
_MARKED = """
    SELECT DISTINCT {what}
    FROM stage.{table} AS marked
    JOIN stage.file AS file USING (file_id)
    WHERE feed IN (SELECT unnest($feeds))
    ORDER BY ALL
"""
_LINE = "marked.line || ' ' || rule_id"
_FILE_AND_LINE = f"parse_filename(path) || ' ' || {_LINE}"


def test_an_untidy_log_ends_as_its_case_says(corpus, case, as_table):
    assert differences(corpus, case, as_table) == []


def test_the_corpus_has_at_least_eighty_files_and_no_case_twice(corpus):
    (files,) = corpus.execute("SELECT count(*) FROM stage.file").fetchone()
    feeds = corpus.execute("SELECT DISTINCT feed FROM stage.file").fetchall()
    assert files >= 80
    assert len(feeds) >= 80


def differences(con, case, as_table) -> list[str]:
    """What is not as the case says, in sentences."""
    feeds, expect = {"feeds": case.feed_names}, case.expect
    rejected, read, *ends = con.execute(_COUNTS, feeds).fetchone()
    held_lines = {line.rpartition(" ")[0] for line in expect.get("held", [])}
    wanted = [expect.get("used", 0), len(held_lines), expect.get("duplicate", 0)]
    found = []
    if ends != wanted:
        found.append(f"used, held and duplicate are {ends}, not {wanted}")
    if read != sum(ends):
        found.append(f"{read} records were read and {sum(ends)} accounted for")
    if bool(rejected) != ("rejected" in expect):
        found.append(f"{rejected} files were set aside")
    found += _marks(con, case, feeds)
    found += _said(con, feeds, [*expect.get("says", []), expect.get("rejected", "")])
    for name, text in expect.get("rows", {}).items():
        found += _rows(con, name, *as_table(text), feeds)
    return found


def _marks(con, case, feeds) -> list[str]:
    """Lines held for another reason than the case says, or not warned of."""
    is_one = sum(len(feed["files"]) for feed in case.feeds) == 1
    what = _LINE if is_one else _FILE_AND_LINE
    held, warned = (
        {row[0] for row in con.execute(_MARKED.format(what=what, table=table), feeds).fetchall()}
        for table in ("held", "warned")
    )
    wanted = set(case.expect.get("held", []))
    found = [f"held are {sorted(held)}, not {sorted(wanted)}"] if held != wanted else []
    missing = set(case.expect.get("warned", [])) - warned
    return [*found, f"not warned of {missing}, but of {warned}"] if missing else found


def _said(con, feeds, words: list[str]) -> list[str]:
    """Words that no reason of a held line or of a file set aside has."""
    held = con.execute(_MARKED.format(what="found, message", table="held"), feeds).fetchall()
    reasons = con.execute(
        "SELECT reason FROM stage.file WHERE feed IN (SELECT unnest($feeds)) AND reason <> ''",
        feeds,
    ).fetchall()
    told = " ".join(str(row) for row in [*held, *reasons])
    return [f"no reason says {word!r}: {told}" for word in words if word not in told]


def _rows(con, name: str, columns: list[str], wanted: list[list[str]], feeds) -> list[str]:
    rows = con.execute(
        f"SELECT {', '.join(columns)} FROM {name} AS t JOIN stage.file AS f USING (file_id) "
        "WHERE f.feed IN (SELECT unnest($feeds)) ORDER BY f.feed, f.path, t.line",
        feeds,
    ).fetchall()
    if len(rows) != len(wanted):
        return [f"{name} has {len(rows)} rows, not {len(wanted)}: {rows}"]
    shown = [
        [_shown(value, word) for value, word in zip(row, words, strict=True)]
        for row, words in zip(rows, wanted, strict=True)
    ]
    return [] if shown == wanted else [f"{name} {columns} is {shown}, not {wanted}"]


def _shown(value: Any, wanted: str) -> str:
    """A value as cases write it; a number to as many decimals as the case has."""
    if value is None:
        return "-"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float | Decimal):
        return f"{value:.{len(wanted.partition('.')[2])}f}"
    if isinstance(value, datetime):
        return value.isoformat(" ", "seconds" if value.second else "minutes")
    return value.isoformat() if isinstance(value, date) else str(value)
