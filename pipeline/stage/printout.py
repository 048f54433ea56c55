"""Printed reports kept as text: a record of header lines, and its samples as a table beneath.

The feed's patterns say where a report begins, what a header line is and what a table line is.
They run in Rust, in time that grows with the text alone, whatever the pattern and the text are.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import polars as pl

from pipeline.base.errors import ConfigurationError
from pipeline.config.kinds import kind
from pipeline.config.network import Column, Feed
from pipeline.stage.lines import TEXT, Lines, read_lines
from pipeline.stage.parts import FILE, LINE, Account, Part, held_rows, sources
from pipeline.stage.rules import NO_FIELD, TORN, TWO_VALUES, UNKNOWN_LINE, Rule

_REPORT, _ROLE, _NAME, _VALUE = "\x00report", "\x00role", "\x00name", "\x00value"
_OF_HEADER = "\x00header "
_RULED = r"^[\s\-_=*.+|#~]*$"
"""Blank lines and lines of ruling, which say nothing."""


def reading_columns(feed: Feed) -> tuple[Column, ...]:
    """The columns of a sample: its own, and from its report what names the cycle."""
    own = {column.target for column in feed.reading_columns}
    shared = set(kind("reading").targets) - own
    return feed.reading_columns + tuple(
        replace(
            column,
            source=column.source and _OF_HEADER + column.source,
            more=tuple(_OF_HEADER + source for source in column.more),
        )
        for column in feed.columns
        if column.target in shared
    )


def read(files: Sequence[bytes], feed: Feed) -> Iterator[Part]:
    """One part for all files: the reports' records, their samples, and lines of neither."""
    lines = read_lines(files, feed)
    try:
        told = _roles(lines.frame, feed)
        fields = _fields(told, feed)
        samples = _samples(told, feed)
    except pl.exceptions.ComputeError as error:
        fault = " ".join(str(error).split())[:200]
        raise ConfigurationError(
            [f'network.toml: feed "{feed.name}": a pattern of its format cannot be used: {fault}.']
        ) from None
    reports, held_reports = _reports(told, fields, samples, feed)
    unknown = told.filter(pl.col(_ROLE) == "unknown").rename({TEXT: "found"})
    held = pl.concat([lines.held, held_rows(feed.kind, UNKNOWN_LINE, unknown), *held_reports])
    reasons = lines.reasons | _without_a_report(told)
    is_kept = ~pl.col(FILE).is_in(list(reasons))
    held = held.filter(is_kept)
    rows = {feed.kind: reports.filter(is_kept)}
    if feed.reading_columns:
        of_header = {name: _OF_HEADER + name for name in sources(feed.columns)}
        header = reports.drop(LINE).rename(of_header)
        rows["reading"] = samples.filter(is_kept).join(
            header, on=[FILE, _REPORT], maintain_order="left"
        )
    yield Part(_accounts(lines, told, reasons), rows, held)


def _roles(lines: pl.DataFrame, feed: Feed) -> pl.DataFrame:
    """Each line with its report (0 for none) and its role: record, field, sample, layout, unknown.

    Where no pattern says how a report begins, a file is one report from its first header line on.
    """
    settings = feed.format.settings
    begin, row, end = settings.get("begin"), settings.get("row"), settings.get("end")
    text, nothing = pl.col(TEXT), pl.lit(value=False)
    is_row = text.str.contains(row) if row else nothing
    frame = lines.with_columns(
        is_field=text.str.contains(settings["field"]) & ~is_row & ~text.str.contains(_RULED)
    )
    if begin:
        is_record = text.str.contains(begin)
    else:
        is_record = pl.col("is_field") & (pl.col("is_field").cum_sum().over(FILE) == 1)
    is_end = text.str.contains(end) if end else nothing
    report = [FILE, _REPORT]
    return (
        frame.with_columns(is_record=is_record)
        .with_columns(pl.col("is_record").cum_sum().over(FILE).alias(_REPORT))
        .with_columns((is_end & ~pl.col("is_record")).alias("is_end"))
        .with_columns(
            is_whole=pl.col("is_end").any().over(report) if end else ~nothing,
            is_after=(pl.col("is_end").cum_sum().over(report) - pl.col("is_end").cast(pl.UInt32))
            > 0,
        )
        .with_columns(
            pl.when("is_record")
            .then(pl.lit("record"))
            .when(text.str.contains(_RULED))
            .then(pl.lit("layout"))
            .when((pl.col(_REPORT) == 0) | pl.col("is_after"))
            .then(pl.lit("unknown"))
            .when("is_end")
            .then(pl.lit("layout"))
            .when(is_row)
            .then(pl.lit("sample" if feed.reading_columns else "layout"))
            .when("is_field")
            .then(pl.lit("field"))
            .otherwise(pl.lit("unknown"))
            .alias(_ROLE)
        )
    )


def _fields(told: pl.DataFrame, feed: Feed) -> pl.DataFrame:
    """The header lines of all reports, with name and value."""
    parts = pl.col(TEXT).str.extract_groups(feed.format.settings["field"]).struct
    return (
        told.filter((pl.col(_ROLE) == "field") | (pl.col("is_record") & pl.col("is_field")))
        .with_columns(
            parts.field("name").str.strip_chars().alias(_NAME),
            parts.field("value").str.strip_chars().alias(_VALUE),
        )
        .select(FILE, _REPORT, LINE, _NAME, _VALUE)
    )


def _samples(told: pl.DataFrame, feed: Feed) -> pl.DataFrame:
    """The table lines of all reports, with the groups of the pattern."""
    samples = told.filter(pl.col(_ROLE) == "sample")
    placed = samples.select(FILE, _REPORT, LINE, TEXT)
    if not feed.reading_columns:
        return placed
    groups = samples[TEXT].str.extract_groups(feed.format.settings["row"]).struct.unnest()
    return pl.concat([placed, groups], how="horizontal")


def _reports(
    told: pl.DataFrame, fields: pl.DataFrame, samples: pl.DataFrame, feed: Feed
) -> tuple[pl.DataFrame, list[pl.DataFrame]]:
    """One row a report, without those held for a header line that is missing or there twice.

    Samples of a held report are held with it: nobody knows of which cycle they are.
    """
    optional = sources(feed.columns)
    key = [FILE, _REPORT]
    of_name = {name: pl.col(_VALUE).filter(pl.col(_NAME) == name) for name in optional}
    reports = (
        told.filter(pl.col(_ROLE) == "record")
        .select(*key, LINE, TEXT, "is_whole")
        .join(
            fields.group_by(key).agg(
                *(value.first().alias(name) for name, value in of_name.items()),
                *(value.n_unique().alias(f"{_VALUE}{name}") for name, value in of_name.items()),
            ),
            on=key,
            how="left",
            maintain_order="left",
        )
    )
    faults: list[tuple[Rule, str, pl.Series]] = [(TORN, "", ~reports["is_whole"])]
    for name, is_optional in optional.items():
        count = reports[f"{_VALUE}{name}"].fill_null(0)
        faults.append((TWO_VALUES, name, count > 1))
        if not is_optional:
            faults.append((NO_FIELD, name, count == 0))
    held = []
    is_held = pl.Series([False]).new_from_index(0, reports.height)
    for rule, name, is_faulty in faults:
        faulty = reports.filter(is_faulty)
        of_faulty = samples.join(faulty.select(key), on=key, how="semi")
        for table, rows in ((feed.kind, faulty), ("reading", of_faulty)):
            lines = rows.select(FILE, LINE, found=TEXT)
            held.append(held_rows(table, rule, lines, name=name))
        is_held |= is_faulty
    return reports.filter(~is_held).select(*key, LINE, *optional), held


def _without_a_report(told: pl.DataFrame) -> dict[int, str]:
    """Files with something in them and no report."""
    none = told.group_by(FILE).agg(
        has_none=(pl.col(_REPORT) == 0).all() & (pl.col(_ROLE) != "layout").any()
    )
    reason = (
        "The file holds no report: no line of it is one with which the feed says that a report "
        "begins. Send the right file, or change the patterns begin and field of the feed."
    )
    return dict.fromkeys(none.filter("has_none")[FILE].sort(), reason)


def _accounts(lines: Lines, told: pl.DataFrame, reasons: dict[int, str]) -> dict[int, Account]:
    is_layout = pl.col(_ROLE).is_in(["layout", "field"])
    counted = told.group_by(FILE).agg(layout=is_layout.sum(), read=(~is_layout).sum())
    counts = {file: (layout, read) for file, layout, read in counted.iter_rows()}
    bad = dict(lines.held[FILE].value_counts().iter_rows())
    accounts = {file: Account(reason=reason) for file, reason in reasons.items()}
    for file, line_count in lines.line_counts.items():
        layout, read_count = counts.get(file, (0, 0))
        accounts.setdefault(file, Account(line_count, layout, read_count + bad.get(file, 0)))
    return accounts
