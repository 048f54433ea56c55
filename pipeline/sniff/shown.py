"""A trial as plain text for a terminal of 80 to 100 columns; nothing in it can move the cursor."""

import textwrap

from pipeline.sniff.plain import WIDTH, aligned, escape, lines_told
from pipeline.sniff.trial import HeldGroup, Trial

_CELL = 30


def shown(trial: Trial) -> str:
    """The whole report, in the order in which a person would ask."""
    head = f'{escape(trial.path)}: as feed "{trial.feed}" ({trial.kind}, {trial.shape}), site '
    parts = [[head + trial.site_id, _balance(trial)]]
    if trial.set_aside:
        parts[0] += _wrapped(escape(trial.set_aside))
    parts += [
        _section("First records, as they stand and as read", _records(trial)),
        _section("Columns", _columns(trial)),
        _section("Held", [line for one in trial.held for line in _held(one)]),
        _section(_rules_title(trial), _rules(trial)),
        _section(
            f"Layout ({lines_told(trial.layout_count)}): no records of their own", _layout(trial)
        ),
        _section("Look at this", [line for one in trial.hints for line in _wrapped(one, "- ")]),
        _section("Texts without a meaning", _pastes(trial)),
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _balance(trial: Trial) -> str:
    if trial.set_aside:
        return "The whole file would be set aside:"
    return (
        f"{trial.line_count:,} lines = {trial.layout_count:,} layout + {trial.used_count:,} used + "
        f"{trial.held_count:,} held + {trial.duplicate_count:,} duplicate"
        + (f"; with {trial.sample_count:,} samples" if trial.sample_count else "")
    )


def _section(title: str, lines: list[str]) -> list[str]:
    return [title, *lines] if lines else []


def _records(trial: Trial) -> list[str]:
    lines = []
    for one in trial.records:
        lines.append(f"  line {one.line}: {escape(one.raw, WIDTH - 12)}")
        rows = [
            (target, escape(text, _CELL), "held" if value is None else escape(value, _CELL))
            for target, text, value in one.values
            if text or value is None
        ]
        lines += aligned(rows, indent=4)
    return lines


def _columns(trial: Trial) -> list[str]:
    if not trial.columns:
        return []
    rows = [("ours", "theirs", "unit", "converted")]
    for one in trial.columns:
        counts = f"{one.converted_count:,} of {one.count:,}"
        rows.append((one.target, escape(one.source, 30), escape(one.unit, 24), counts))
    head, *lines = aligned(rows)
    told = [f"      {escape(one.told, WIDTH - 6)}" for one in trial.columns]
    title = "      smallest, middle, largest; or the commonest words"
    pairs = zip(lines, told, strict=True)
    return [head, title, *(line for pair in pairs for line in pair if line.strip())]


def _held(group: HeldGroup) -> list[str]:
    lines = _wrapped(f"{group.count:,} × {group.rule_id}: {escape(group.message)}")
    return lines + [f"      line {line}: {escape(text, 70)}" for line, text in group.lines]


def _rules_title(trial: Trial) -> str:
    broken = len(trial.rules)
    return f"Expectations: {trial.judged_count:,} judged this file, {broken:,} broken by some rows"


def _rules(trial: Trial) -> list[str]:
    lines = [] if trial.rules or trial.set_aside else ["  none broken"]
    for one in trial.rules:
        what = {"fail": "held", "warn": "used and marked"}.get(one.verdict, "could not be judged")
        lines += _wrapped(f"{one.rule_id} {one.title}: {one.count:,} {what}. {one.fix}")
    return lines


def _layout(trial: Trial) -> list[str]:
    return [f"  line {line}: {escape(text, WIDTH - 14)}" for line, text in trial.layout]


def _pastes(trial: Trial) -> list[str]:
    """Lines to paste stay whole, however long; the others are wrapped."""
    lines: list[str] = []
    for one in trial.pastes:
        lines += [f"  {one}"] if one.startswith(" ") else _wrapped(one)
    return lines


def _wrapped(text: str, mark: str = "") -> list[str]:
    later = "  " + " " * (len(mark) or 4)
    return textwrap.wrap(
        text, WIDTH, initial_indent=f"  {mark}", subsequent_indent=later, break_on_hyphens=False
    )
