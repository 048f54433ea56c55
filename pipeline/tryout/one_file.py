"""One file through the very steps of a run, in memory: what would become of it, and what is odd.

Nothing is stored. It stands above run.py, because only so can the real reader, mapping, checks
and model be the ones that answer.
"""

import csv
import io
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime
from fnmatch import fnmatchcase
from pathlib import Path
from tempfile import TemporaryDirectory

import polars as pl

from pipeline.base.errors import ConfigurationError, FileError
from pipeline.base.files import sha256, write_whole
from pipeline.base.quantity import standard_atmosphere_kpa
from pipeline.config.load import load_network
from pipeline.config.network import Feed, Format, Network
from pipeline.config.registers import ID
from pipeline.run import stage_check_model
from pipeline.sniff.draft import Draft, draft_feed
from pipeline.sniff.encoding import encoding_hint
from pipeline.sniff.hints import column_hints, words_to_paste
from pipeline.sniff.kept import likely_location
from pipeline.sniff.outcome import Outcome, trial_of
from pipeline.sniff.shape import Shape, shape_of
from pipeline.sniff.totals import total_hint
from pipeline.sniff.trial import Trial
from pipeline.sniff.workbook import is_workbook
from pipeline.stage.batch import Batch
from pipeline.stage.parts import FILE, LINE, Part
from pipeline.stage.times import Zones
from pipeline.stage.unpack import pieces_of
from pipeline.warehouse import ledger, state
from pipeline.warehouse.connection import open_memory

_OF_TEXT = ("delimited", "fixed", "json", "jsonlines", "printout")


def try_file(
    network: Network, feed: Feed, site_id: str, path: Path, *, row_count: int = 5
) -> Trial:
    """What a run would make of this file alone, with `row_count` of its first records.

    Duplicates within the file are counted; those of other files are not known here.
    """
    data = path.read_bytes()
    modified = datetime.fromtimestamp(int(path.stat().st_mtime), UTC).replace(tzinfo=None)
    sha = sha256(data)
    file = ledger.LandedFile(
        ledger.file_id(feed.name, site_id, sha), feed.name, site_id, path.name, sha, modified
    )
    site = network.sites[site_id]
    zones = Zones(network.time_zone(feed, site), site.time_zone)
    with TemporaryDirectory() as aside, open_memory() as con:
        alone = _alone(network, feed, Path(aside))
        write_whole(ledger.landed_path(Path(aside) / "landed", sha), data)
        with state.transaction(con):
            stage_check_model(con, alone, [file])
            outcome = Outcome.read(con)
        batch = Batch(alone, feed, zones, [(file, data)])
        raw = _rows(batch.raw_parts(), feed.kind)
        parts = list(batch.parts())
        values = _rows(parts, feed.kind)
        sample_count = _rows(parts, "reading").height if feed.reading_columns else 0
    air_kpa = site.barometer_kpa or standard_atmosphere_kpa(site.altitude_m)
    hints = column_hints(feed, raw, air_kpa) if outcome.set_aside is None else []
    lines = _physical_lines(data, feed)
    if feed.format.kind in _OF_TEXT and (asked := _encoding_hint(data, feed)):
        hints.insert(0, asked)
    if outcome.set_aside is not None:
        hints = _of_shape(data, feed)
    elif "skip" not in feed.format.settings and (told := total_hint(outcome.held_lines(lines))):
        hints.append(told)
    return trial_of(
        outcome,
        feed,
        site_id,
        path.name,
        raw.rename({LINE: "line"}, strict=False),
        values.rename({LINE: "line"}, strict=False),
        lines,
        hints,
        words_to_paste(feed, raw),
        row_count,
        sample_count,
    )


def _alone(network: Network, feed: Feed, aside: Path) -> Network:
    """The network with this feed only, and nothing of it written where it keeps its state."""
    key_file = network.privacy.key_file
    if key_file is not None and not key_file.is_file():
        # The first run makes the key of the pseudonyms; a trial is no run.
        key_file = None
    privacy = replace(network.privacy, key_file=key_file)
    return replace(network, feeds=(feed,), state_folder=aside, privacy=privacy)


def feeds_for(network: Network, path: Path) -> list[tuple[Feed, str]]:
    """The feeds, each with the site, whose location this file matches."""
    wanted = path.resolve()
    found = []
    for feed in network.feeds:
        for site_id in feed.site_ids:
            place = feed.location.replace("{site}", site_id)
            if "://" in place:
                continue
            pattern = Path(network.folder.resolve(), place)
            if _matches(wanted.parts, pattern.parts):
                found.append((feed, site_id))
    return found


def draft_for(path: Path, folder: Path, site_id: str, name: str, kind: str | None) -> Draft | None:
    """A feed drafted from a file; None when its shape cannot be told."""
    shape = _shape(path.read_bytes())
    if shape is None or not shape.rows.width:
        return None
    location = likely_location(path, folder, site_id)
    return draft_feed(shape, name=name, site_id=site_id, location=location, kind_name=kind)


def try_draft(draft: Draft, path: Path, *, row_count: int = 5) -> Trial | list[str]:
    """What a run would make of a file by a draft alone; or what the draft still lacks.

    Registers are made up for it: one site in UTC at sea level, and the serials of the file.
    """
    with TemporaryDirectory() as aside:
        folder = Path(aside)
        text = f'[group]\nname = "draft"\n{draft.text}'
        (folder / "network.toml").write_text(text, encoding="utf-8")
        _write_csv(
            folder / "sites.csv",
            "site_id,name,region,time_zone,altitude_m,practice,opened_on",
            [["clinic", "clinic", "region", "UTC", "0", "weekly", "1990-01-01"]],
        )
        serials = [one for one in draft.serials if one.strip()] or ["none"]
        units = [[one, "clinic", one, "prevacuum", "1990-01-01"] for one in serials]
        _write_csv(folder / "units.csv", "unit_serial,site_id,label,air_removal,from_on", units)
        try:
            network = load_network(folder)
        except ConfigurationError as error:
            return error.faults
        return try_file(network, network.feeds[0], "clinic", path, row_count=row_count)


def is_id(text: str) -> bool:
    """Whether this can be a site's or a feed's id."""
    return ID.fullmatch(text) is not None


def _rows(parts: Iterable[Part], table: str) -> pl.DataFrame:
    frames = [part.rows[table] for part in parts if table in part.rows]
    filled = [frame for frame in frames if frame.height] or frames[:1]
    if not filled:
        return pl.DataFrame(schema={FILE: pl.UInt32, LINE: pl.Int64})
    return pl.concat(filled, how="diagonal").sort(LINE, maintain_order=True)


def _matches(parts: tuple[str, ...], pattern: tuple[str, ...]) -> bool:
    if not pattern:
        return not parts
    if pattern[0] == "**":
        return any(_matches(parts[i:], pattern[1:]) for i in range(len(parts) + 1))
    if not parts or not fnmatchcase(parts[0], pattern[0].replace("{month}", "*")):
        return False
    return _matches(parts[1:], pattern[1:])


def _unpacked(data: bytes, form: Format) -> bytes:
    pieces = pieces_of(0, data, form)
    return pieces[0].data if pieces else b""


def _shape(data: bytes) -> Shape | None:
    kind = "spreadsheet" if is_workbook(data) else "delimited"
    return shape_of(_unpacked(data, Format(kind)))


def _of_shape(data: bytes, feed: Feed) -> list[str]:
    """What the file seems to be, where it cannot be read as the feed says."""
    try:
        shape = _shape(data)
    except FileError as error:
        return [str(error)]
    if shape is None:
        return ["The file has no shape that can be told; look at it with an editor."]
    settings = {"kind": shape.kind} | shape.settings
    declared = {"kind": feed.format.kind} | feed.format.settings
    told = [
        f"format: {name} seems to be {value!r}; the feed says {declared.get(name, 'nothing')!r}."
        for name, value in settings.items()
        if declared.get(name) != value
    ]
    return told + shape.notes


def _physical_lines(data: bytes, feed: Feed) -> list[str]:
    """The lines as they stand, for the shapes that have any."""
    if feed.format.kind in ("spreadsheet", "parquet", "json"):
        return []
    try:
        plain = _unpacked(data, feed.format)
    except FileError:
        return []
    encoding = feed.format.settings.get("encoding", "utf-8")
    text = plain.decode(encoding, "replace").removeprefix("\ufeff")
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _encoding_hint(data: bytes, feed: Feed) -> str | None:
    try:
        plain = _unpacked(data, feed.format)
    except FileError:
        return None
    return encoding_hint(plain, feed.format.settings.get("encoding", "utf-8"))


def _write_csv(path: Path, header: str, rows: list[list[str]]) -> None:
    out = io.StringIO()
    csv.writer(out).writerows([header.split(","), *rows])
    path.write_text(out.getvalue(), encoding="utf-8")
