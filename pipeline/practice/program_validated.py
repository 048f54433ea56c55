"""Reads programs.csv: the programs that were validated for single units of a network.

The file stands beside network.toml and may be missing. Its rows outrank every table.
"""

import csv
from datetime import date
from pathlib import Path

from pipeline.config.faults import Faults, did_you_mean
from pipeline.practice.program import ValidatedProgram
from pipeline.practice.program_read import check_number

FILE = "programs.csv"
_MUST = ("unit_serial", "program", "from_on", "low_celsius", "hold_seconds", "source")
_MAY = ("high_celsius", "drying_seconds")


def read_validated(
    folder: Path, serials: set[str], programs: set[str], faults: Faults
) -> tuple[ValidatedProgram, ...]:
    """The rows of a network's programs.csv, by unit, program and day; none without the file.

    `serials` and `programs` are those that there are; anything else is noted as a fault.
    """
    path = folder / FILE
    if not path.is_file():
        return ()
    try:
        with path.open(encoding="utf-8-sig", newline="") as stream:
            reader = csv.DictReader(stream)
            absent = [name for name in _MUST if name not in (reader.fieldnames or ())]
            if absent:
                faults.add(FILE, f"has no column {', '.join(absent)}; add it to the first line.")
                return ()
            lines = [(f"{FILE} line {reader.line_num}", row) for row in reader]
    except (UnicodeDecodeError, csv.Error) as error:
        faults.add(FILE, f"is not comma-separated text in UTF-8 ({error}); save it as such.")
        return ()
    rows = [_row(where, row, serials, programs, faults) for where, row in lines]
    known = sorted(
        (row for row in rows if row), key=lambda row: (row.unit_serial, row.program, row.from_on)
    )
    for before, after in zip(known, known[1:], strict=False):
        if (before.unit_serial, before.program, before.from_on) == (
            after.unit_serial, after.program, after.from_on,
        ):  # fmt: skip
            what = f"{after.program} of {after.unit_serial} from {after.from_on}"
            faults.add(FILE, f"says {what} twice; keep one row, or give the later one its day.")
    return tuple(known)


def _row(
    where: str,
    row: dict[str, str | None],
    serials: set[str],
    programs: set[str],
    faults: Faults,
) -> ValidatedProgram | None:
    noted = len(faults.sentences)
    text = {name: (row.get(name) or "").strip() for name in (*_MUST, *_MAY)}
    empty = [name for name in _MUST if not text[name]]
    if empty:
        faults.add(where, f"nothing in {', '.join(empty)}; fill it in.")
        return None
    if text["unit_serial"] not in serials:
        hint = did_you_mean(text["unit_serial"], serials)
        faults.add(where, f'unit "{text["unit_serial"]}" is not in units.csv. {hint}')
    if text["program"] not in programs:
        hint = did_you_mean(text["program"], programs)
        faults.add(where, f'program "{text["program"]}" is not one that is judged. {hint}')
    from_on = _day(where, text["from_on"], faults)
    low = _number(where, "low_celsius", text["low_celsius"], faults)
    high = _number(where, "high_celsius", text["high_celsius"], faults)
    hold = _number(where, "hold_seconds", text["hold_seconds"], faults)
    drying = _number(where, "drying_seconds", text["drying_seconds"], faults)
    if low is not None and high is not None and high <= low:
        faults.add(where, f"high_celsius {high:g} is not above low_celsius {low:g}; exchange them.")
    if len(faults.sentences) > noted or from_on is None or low is None or hold is None:
        return None
    return ValidatedProgram(
        text["unit_serial"], text["program"], from_on, low, high, hold, drying, text["source"]
    )


def _day(where: str, text: str, faults: Faults) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        faults.add(where, f'from_on is "{text}"; write a day as 2026-10-31.')
        return None


def _number(where: str, column: str, text: str, faults: Faults) -> float | None:
    if not text:
        return None
    try:
        value: float | str = float(text)
    except ValueError:
        value = text
    key = "celsius" if column.endswith("_celsius") else column
    noted = len(faults.sentences)
    check_number(where, key, value, faults)
    return value if isinstance(value, float) and len(faults.sentences) == noted else None
