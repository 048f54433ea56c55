"""What `holdtime try` and `holdtime connect` print, in which order; only connect writes."""

import json
import shlex
from dataclasses import asdict
from pathlib import Path

from pipeline.base.errors import ConfigurationError, Exit, SourceError
from pipeline.config.load import load_network
from pipeline.config.network import Feed, Network
from pipeline.sniff.draft import Draft
from pipeline.sniff.kept import add_feed, add_site, add_units, fresh_name
from pipeline.sniff.plain import escape
from pipeline.sniff.shown import shown
from pipeline.sniff.trial import Trial
from pipeline.tryout.one_file import draft_for, feeds_for, is_id, try_draft, try_file


def try_command(
    path: Path,
    folder: Path,
    *,
    feed_name: str | None,
    site_id: str | None,
    kind: str | None,
    row_count: int,
    as_json: bool,
) -> Exit:
    """Try a file by one feed, by those that match it, or by a draft."""
    _check_file(path)
    network = None
    try:
        if feed_name or (folder / "network.toml").exists():
            network = load_network(folder)
    except ConfigurationError:
        if feed_name is None and not as_json:
            # A file of the next clinic may be looked at while the last is being connected.
            _propose(path, folder, None, site_id, kind, row_count, as_json)
        raise
    pairs = _pairs(network, path, feed_name, site_id) if network else []
    if not pairs:
        return _propose(path, folder, network, site_id, kind, row_count, as_json)
    assert network is not None
    trials = [try_file(network, feed, site, path, row_count=row_count) for feed, site in pairs]
    is_clean = all(one.is_clean for one in trials)
    code = Exit.DONE if is_clean else Exit.DATA_HELD
    if as_json:
        print(json.dumps({"exit_code": code, "trials": [asdict(one) for one in trials]}))
    else:
        print("\n".join(shown(one) for one in trials), end="")
    return code


def connect_command(
    path: Path, folder: Path, *, site_id: str | None, name: str | None, kind: str | None
) -> Exit:
    """Add a drafted feed, and rows of the registers, for a person to correct."""
    _check_file(path)
    if site_id is None:
        raise ConfigurationError(["connect: say whose log it is, such as --site north-street."])
    name = name or fresh_name(path.name.split(".")[0])
    for what, text in (("--site", site_id), ("--name", name)):
        if not is_id(text):
            raise ConfigurationError([f"connect: {what} {text!r}: use a-z, 0-9 and dashes."])
    draft = _draft(path, folder, site_id, name, kind)
    told = [add_feed(folder, name, draft.text)]
    told += filter(None, [add_site(folder, site_id), add_units(folder, site_id, draft.serials)])
    print("\n".join(told))
    print(f'\nRead the feed "{name}" in network.toml: every guess in it says "check this".')
    if draft.open_count:
        print(f"TODO stands there {draft.open_count} times: a person decides, nothing was guessed.")
    print(f"Then: holdtime check-config{_where(folder)}")
    print(f"Then: holdtime try {_typed(path)} --feed {name}{_where(folder)}")
    return Exit.DONE


def _typed(path: Path) -> str:
    """A path as it is typed at a prompt."""
    return escape(shlex.quote(str(path)))


def _where(folder: Path) -> str:
    return "" if folder == Path() else f" --folder {_typed(folder)}"


def _check_file(path: Path) -> None:
    if not path.is_file():
        raise SourceError(f"{escape(str(path))}: there is no such file. Give the path of a log.")


def _pairs(
    network: Network, path: Path, feed_name: str | None, site_id: str | None
) -> list[tuple[Feed, str]]:
    matching = feeds_for(network, path)
    if feed_name is None:
        return [pair for pair in matching if site_id in (None, pair[1])]
    named = [feed for feed in network.feeds if feed.name == feed_name]
    if not named:
        known = ", ".join(feed.name for feed in network.feeds)
        raise ConfigurationError([f'network.toml: has no feed "{feed_name}". Known: {known}.'])
    feed = named[0]
    if site_id is not None and site_id not in feed.site_ids:
        raise ConfigurationError(
            [
                f'feed "{feed_name}" does not serve "{site_id}". '
                f"It serves: {', '.join(feed.site_ids)}."
            ]
        )
    sites = [site for one, site in matching if one.name == feed_name]
    return [(feed, site_id or (sites or list(feed.site_ids))[0])]


def _draft(path: Path, folder: Path, site_id: str, name: str, kind: str | None) -> Draft:
    draft = draft_for(path, folder, site_id, name, kind)
    if draft is None:
        raise SourceError(
            f"{escape(path.name)}: its shape cannot be told: no table, no objects and no report "
            "with names and values. Look at it with an editor, and write the feed by hand."
        )
    return draft


def _propose(
    path: Path,
    folder: Path,
    network: Network | None,
    site_id: str | None,
    kind: str | None,
    row_count: int,
    as_json: bool,
) -> Exit:
    """Print a draft, and what a run would make of the file by it."""
    name = fresh_name(path.name.split(".")[0])
    trial = try_draft(_draft(path, folder, "clinic", name, kind), path, row_count=row_count)
    draft = _draft(path, folder, site_id or "clinic", name, kind)
    if isinstance(trial, Trial):
        code = Exit.DONE if trial.is_clean else Exit.DATA_HELD
    else:
        code = Exit.CONFIGURATION
    if as_json:
        tried = asdict(trial) if isinstance(trial, Trial) else None
        lacks = [] if isinstance(trial, Trial) else trial
        record = {"exit_code": code, "draft": draft.text, "lacks": lacks, "trial": tried}
        print(json.dumps(record))
        return code
    if network is not None:
        known = ", ".join(feed.name for feed in network.feeds)
        print(f"No feed's location matches this file. Feeds (try one with --feed): {known}\n")
    print("A feed for it could be this draft; every guess says so, and nothing was written:\n")
    print(draft.text)
    if isinstance(trial, Trial):
        print("By this draft, with times taken as UTC and the clinic at sea level:\n")
        print(shown(trial), end="")
    else:
        print("The draft cannot be tried before a person has decided:")
        print("\n".join(f"  {escape(one)}" for one in trial))
    print(f"\nTo keep the draft: holdtime connect {_typed(path)} --site ID{_where(folder)}")
    return code
