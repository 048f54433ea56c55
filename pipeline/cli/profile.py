"""The command that prints what a practice profile asks for: profile."""

import argparse
import json
from collections.abc import Iterator
from dataclasses import fields
from datetime import date
from itertools import groupby
from textwrap import fill
from typing import TYPE_CHECKING, Any

from pipeline.base.errors import ConfigurationError, Exit
from pipeline.cli import options

if TYPE_CHECKING:
    from pipeline.practice.profile import Profile
    from pipeline.practice.rules import Rule

_LESS = ("ancestor", "what", "ancestor_asks", "asks", "reason")


def profile(parsed: argparse.Namespace) -> Exit:
    """Print a practice profile in plain words, each rule with its source; or list all there are."""
    from pipeline.config.faults import did_you_mean
    from pipeline.practice.shelf import all_profiles

    profiles = all_profiles(parsed.folder)
    if parsed.name is None and parsed.json:
        print(json.dumps(list(profiles)))
    elif parsed.name is None:
        width = max(map(len, profiles))
        for name, one in profiles.items():
            note = "" if one.is_for_sites else " (for other profiles to inherit)"
            print(f"{name:{width}}  {one.title}{note}")
    elif parsed.name in profiles and parsed.json:
        print(json.dumps(_record(profiles[parsed.name]), default=str, ensure_ascii=False))
    elif parsed.name in profiles:
        print("\n".join(_printed(profiles[parsed.name], parsed.recorded_on)))
    else:
        hint = did_you_mean(parsed.name, profiles)
        raise ConfigurationError(
            [f'There is no practice profile "{parsed.name}". {hint}'.rstrip()],
        )
    return Exit.DONE


def _record(one: "Profile") -> dict[str, Any]:
    """A profile for machines: its rules in plain words and, beside them, their figures."""
    from pipeline.practice.plain import in_order, printed, printed_less, read_out

    head = ("name", "title", "asks", "jurisdiction", "reviewed_on", "is_for_sites", "parents")
    return {
        **{name: getattr(one, name) for name in head},
        "loosenings": [read_out(printed_less(less)) for less in one.loosenings],
        "rules": [
            {**read_out(printed(rule)), "figures": _figures(rule)} for rule in in_order(one.rules)
        ],
    }


def _figures(rule: "Rule") -> dict[str, Any]:
    from pipeline.practice.rules import Rule

    common = {field.name for field in fields(Rule)}
    return {
        field.name: getattr(rule, field.name) for field in fields(rule) if field.name not in common
    }


def _printed(one: "Profile", recorded_on: date | None) -> Iterator[str]:
    from pipeline.base.message import spoken
    from pipeline.base.phrases import phrase
    from pipeline.practice.plain import in_order, printed_less, read_out, unsure

    yield f"{one.title} ({one.name})"
    yield _wrapped(one.asks)
    yield _wrapped(f"Whose rules: {one.jurisdiction}.")
    yield f"Figures reviewed {one.reviewed_on}; local rules and makers' instructions outrank them."
    if one.parents:
        yield f"Inherits: {', '.join(one.parents)}."
    if doubt := unsure(rule.confidence for rule in one.rules):
        yield _wrapped(spoken(doubt))
    for less in one.loosenings:
        row = read_out(printed_less(less))
        yield _wrapped(phrase("frame.asked_less", **{name: str(row[name]) for name in _LESS}))
    for section, rules in groupby(in_order(one.rules), key=lambda rule: rule.table):
        yield ""
        yield phrase(f"rule.section.{section}")
        if section == "spore":
            yield _wrapped(phrase("rule.counts"), "  ", "  ")
        for rule in rules:
            yield from _rule(rule, recorded_on or one.reviewed_on)


def _rule(rule: "Rule", recorded_on: date) -> Iterator[str]:
    from pipeline.base.message import spoken
    from pipeline.base.phrases import phrase
    from pipeline.practice.plain import asks, days_of, what
    from pipeline.practice.retention import kept_to
    from pipeline.practice.rules import RetentionRule

    when = days_of(rule)
    text = f"{spoken(what(rule))}: {spoken(asks(rule))}{f' ({when})' if when else ''}"
    if isinstance(rule, RetentionRule) and (last_on := kept_to(rule, recorded_on)):
        text += f"; one of {recorded_on} is kept to {last_on}"
    yield _wrapped(text, "  ", "    ")
    source = f"{rule.source} [{phrase(f'confidence.{rule.confidence}')}; {rule.declared_by}]"
    yield _wrapped(source, "      ", "      ")


def _wrapped(text: str, first: str = "", others: str = "") -> str:
    return fill(text, 100, initial_indent=first, subsequent_indent=others, break_on_hyphens=False)


def add_commands(commands: "options.Commands") -> None:
    """Declare the command of this module."""
    one = commands.add_parser("profile", parents=[options.placed()], help=profile.__doc__)
    one.add_argument("name", nargs="?", metavar="NAME", help="such as weekly (default: list all)")
    one.add_argument(
        "--recorded-on",
        type=date.fromisoformat,
        metavar="DAY",
        help="say until when a record of this day is kept (default: one of the day of review)",
    )
    one.add_argument("--json", action="store_true", help="print it for machines")
    one.set_defaults(command=profile)
