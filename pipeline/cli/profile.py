"""The command that prints what a practice profile asks for: profile."""

import argparse
from collections.abc import Iterator
from datetime import date
from itertools import groupby
from textwrap import fill
from typing import TYPE_CHECKING

from pipeline.base.errors import ConfigurationError, Exit
from pipeline.cli import options

if TYPE_CHECKING:
    from pipeline.practice.profile import Profile
    from pipeline.practice.rules import Rule


def profile(parsed: argparse.Namespace) -> Exit:
    """Print a practice profile in plain words, each rule with its source; or list all there are."""
    from pipeline.config.faults import did_you_mean
    from pipeline.practice.shelf import all_profiles

    profiles = all_profiles(parsed.folder)
    if parsed.name is None:
        width = max(map(len, profiles))
        for name, one in profiles.items():
            note = "" if one.is_for_sites else " (for other profiles to inherit)"
            print(f"{name:{width}}  {one.title}{note}")
    elif parsed.name in profiles:
        print("\n".join(_printed(profiles[parsed.name])))
    else:
        hint = did_you_mean(parsed.name, profiles)
        raise ConfigurationError(
            [f'There is no practice profile "{parsed.name}". {hint}'.rstrip()],
        )
    return Exit.DONE


def _printed(one: "Profile") -> Iterator[str]:
    from pipeline.base.phrases import phrase
    from pipeline.practice.plain import asks, in_order, what

    yield f"{one.title} ({one.name})"
    yield _wrapped(one.asks)
    yield _wrapped(f"Whose rules: {one.jurisdiction}.")
    yield f"Figures reviewed {one.reviewed_on}; local rules and makers' instructions outrank them."
    if one.parents:
        yield f"Inherits: {', '.join(one.parents)}."
    for less in one.loosenings:
        text = phrase(
            "frame.asked_less",
            ancestor=less.ancestor.title,
            what=what(less.rule),
            ancestor_asks=asks(less.rule),
            asks=asks(less.instead) if less.instead else phrase("rule.nothing"),
            reason=less.reason or "",
        )
        yield _wrapped(text)
    for section, rules in groupby(in_order(one.rules), key=lambda rule: rule.table):
        yield ""
        yield phrase(f"rule.section.{section}")
        for rule in rules:
            yield from _rule(rule, one.reviewed_on)


def _rule(rule: "Rule", example_on: date) -> Iterator[str]:
    from pipeline.base.phrases import phrase
    from pipeline.practice.plain import asks, days_of, what
    from pipeline.practice.retention import kept_to
    from pipeline.practice.rules import RetentionRule

    when = days_of(rule)
    text = f"{what(rule)}: {asks(rule)}{f' ({when})' if when else ''}"
    if isinstance(rule, RetentionRule) and (last_on := kept_to(rule, example_on)):
        text += f"; one of {example_on} to {last_on}"
    yield _wrapped(text, "  ", "    ")
    source = f"{rule.source} [{phrase(f'confidence.{rule.confidence}')}; {rule.declared_by}]"
    yield _wrapped(source, "      ", "      ")


def _wrapped(text: str, first: str = "", others: str = "") -> str:
    return fill(text, 100, initial_indent=first, subsequent_indent=others, break_on_hyphens=False)


def add_commands(commands: "options.Commands") -> None:
    """Declare the command of this module."""
    one = commands.add_parser("profile", parents=[options.placed()], help=profile.__doc__)
    one.add_argument("name", nargs="?", metavar="NAME", help="such as weekly (default: list all)")
    one.set_defaults(command=profile)
