"""Reads a table of programs from its TOML file and notes everything in it that cannot be used."""

import tomllib
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.config.faults import Faults, did_you_mean
from pipeline.practice.program import (
    AIR_REMOVALS,
    CONFIDENCES,
    FIGURES,
    LOWER_EDGES,
    WRAPS,
    Figure,
    Program,
    ProgramTable,
)

_RANGES = {
    "celsius": (100, 145),
    "hold_seconds": (30, 7200),
    "drying_seconds": (0, 7200),
    "band_kelvin": (1, 10),
    "spread_kelvin": (0.5, 10),
    "saturation_kelvin": (0.5, 5),
    "leak_kpa_per_minute": (0.01, 2),
}
"""What such a figure can be at all; beyond lies a slip of the unit, such as minutes for seconds."""
_TABLE = {
    "title", "practices", "reviewed_on", "lower_edge", "needs_penetration_time",
    "lower_edge_source", "lower_edge_confidence", "limits", "program",
}  # fmt: skip
_FIGURE = {"value", "source", "confidence"}
_ROW = {"air_removal", "wraps", "celsius", "hold_seconds", "source", "confidence"}


def read_programs(path: Path, faults: Faults) -> ProgramTable | None:
    """The table of this file; None, with every fault noted, when it cannot be used."""
    noted = len(faults.sentences)
    try:
        declared = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        faults.add(path.name, f"is not TOML: {error}.")
        return None
    _check_keys(path.name, declared, _TABLE, set(), faults)
    _check_words(path.name, "lower_edge", declared, LOWER_EDGES, faults)
    _check_words(path.name, "lower_edge_confidence", declared, CONFIDENCES, faults)
    if type(declared.get("needs_penetration_time", True)) is not bool:
        faults.add(path.name, "needs_penetration_time is neither true nor false; write one.")
    if type(declared.get("reviewed_on", date.min)) is not date:
        faults.add(path.name, "reviewed_on is no day; write it as 2026-11-27, without quotes.")
    _check_list(path.name, "practices", declared, None, faults)
    limits, rows = declared.get("limits", {}), declared.get("program", [])
    if not isinstance(limits, dict) or not isinstance(rows, list):
        faults.add(path.name, "write [limits] for the limits and [[program]] above each row.")
        return None
    _check_limits(path.name, limits, faults)
    _check_rows(path.name, rows, faults)
    if len(faults.sentences) > noted:
        return None
    edge = Figure(None, declared["lower_edge_source"], declared["lower_edge_confidence"])
    return ProgramTable(
        path.stem,
        declared["title"],
        tuple(declared["practices"]),
        declared["reviewed_on"],
        declared["lower_edge"],
        declared["needs_penetration_time"],
        {"lower_edge": edge} | {name: _figure(one) for name, one in limits.items()},
        tuple(program for row in rows for program in _programs(row)),
    )


def check_number(where: str, key: str, value: Any, faults: Faults) -> None:
    """Note it when a figure is no number, or none that such a figure can be."""
    low, high = _RANGES[key]
    if type(value) not in (int, float) or not low <= value <= high:
        faults.add(where, f"has {key} = {value!r}; write a number from {low} to {high}.")


def _figure(declared: dict[str, Any]) -> Figure:
    return Figure(float(declared["value"]), declared["source"], declared["confidence"])


def _programs(row: dict[str, Any]) -> list[Program]:
    drying = row.get("drying_seconds")
    return [
        Program(
            removal,
            wrap,
            float(row["celsius"]),
            float(row["hold_seconds"]),
            None if drying is None else float(drying),
            row["source"],
            row["confidence"],
        )
        for removal in row["air_removal"]
        for wrap in row["wraps"]
    ]


def _check_limits(name: str, limits: dict[str, Any], faults: Faults) -> None:
    for key, one in limits.items():
        where = f"{name}: [limits] {key}"
        if key not in FIGURES:
            faults.add(where, f"is no limit that is judged. {did_you_mean(key, FIGURES)}")
        elif not isinstance(one, dict):
            faults.add(where, "write { value = …, source = …, confidence = … }.")
        else:
            _check_keys(where, one, _FIGURE, set(), faults)
            _check_words(where, "confidence", one, CONFIDENCES, faults)
            if "value" in one:
                check_number(where, key, one["value"], faults)


def _check_rows(name: str, rows: list[Any], faults: Faults) -> None:
    seen: dict[tuple[str, str, float], int] = {}
    for number, row in enumerate(rows, 1):
        where = f"{name}: [[program]] {number}"
        noted = len(faults.sentences)
        if not isinstance(row, dict):
            faults.add(where, f"is {row!r}; write [[program]] and its settings below.")
            continue
        _check_keys(where, row, _ROW, {"drying_seconds"}, faults)
        _check_list(where, "air_removal", row, AIR_REMOVALS, faults)
        _check_list(where, "wraps", row, WRAPS, faults)
        _check_words(where, "confidence", row, CONFIDENCES, faults)
        for key in ("celsius", "hold_seconds", "drying_seconds"):
            if key in row:
                check_number(where, key, row[key], faults)
        if len(faults.sentences) > noted:
            continue
        for one in _programs(row):
            same = (one.air_removal, one.wrap, one.celsius)
            if seen.setdefault(same, number) != number:
                what = f"{one.air_removal}, {one.wrap}, {one.celsius:g} °C"
                faults.add(where, f"says {what} again, after {seen[same]}; keep one of the two.")


def _check_keys(
    where: str, declared: Mapping[str, Any], must: set[str], may: set[str], faults: Faults
) -> None:
    for key in sorted(must - declared.keys()):
        faults.add(where, f"does not say {key}; it is needed.")
    for key, value in declared.items():
        if key not in must | may:
            faults.add(where, f'has no setting "{key}". {did_you_mean(key, must | may)}')
        elif key in ("title", "source", "lower_edge_source") and not (
            isinstance(value, str) and value.strip()
        ):
            faults.add(where, f"has {key} = {value!r}; write a text.")


def _check_words(
    where: str, key: str, declared: Mapping[str, Any], known: tuple[str, ...], faults: Faults
) -> None:
    word = declared.get(key, known[0])
    if word not in known:
        faults.add(where, f"has {key} = {word!r}. {did_you_mean(str(word), known)}")


def _check_list(
    where: str,
    key: str,
    declared: Mapping[str, Any],
    known: tuple[str, ...] | None,
    faults: Faults,
) -> None:
    words = declared.get(key, ["" if known is None else known[0]])
    if not isinstance(words, list) or not words or not all(isinstance(w, str) for w in words):
        faults.add(where, f'has {key} = {words!r}; write a list of texts, such as ["gravity"].')
        return
    for word in words:
        if known is not None and word not in known:
            faults.add(where, f'has {key} "{word}". {did_you_mean(word, known)}')
