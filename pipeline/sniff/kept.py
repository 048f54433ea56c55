"""Adds a drafted feed to what people keep: appended, never written over, comments and all."""

import csv
import io
import re
import tomllib
from pathlib import Path

from pipeline.base.errors import ConfigurationError
from pipeline.base.files import write_whole
from pipeline.sniff.plain import toml_text

_SITE_COLUMNS = (
    "site_id",
    "name",
    "region",
    "time_zone",
    "altitude_m",
    "practice",
    "opened_on",
    "closed_on",
    "owner",
)
_UNIT_COLUMNS = ("unit_serial", "site_id", "label", "air_removal", "from_on", "to_on")


_SERIAL = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ./_-]{0,39}")
"""Serials that are written into a register: a spreadsheet would take "=..." for a formula."""


def add_feed(folder: Path, name: str, text: str) -> str:
    """Append the text of a feed to network.toml; what was done, in a sentence.

    Raises ConfigurationError when a feed of that name is there, or the file cannot be read.
    """
    path = folder / "network.toml"
    if not path.exists():
        head = f"[group]\nname = {toml_text('TODO: the name of your group')}  # change this\n"
        write_whole(path, f"{head}\n{text}".encode())
        return "network.toml: made, with this feed."
    before = path.read_bytes()
    try:
        declared = tomllib.loads(before.decode("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ConfigurationError(
            [f"network.toml: is not TOML: {error}. Mend it first; nothing was written."]
        ) from None
    feeds = declared.get("feed", [])
    names = [one.get("name") for one in feeds if isinstance(one, dict)]
    if name in names:
        raise ConfigurationError(
            [
                f'network.toml: has a feed "{name}" already, and nothing was written. '
                "Give another --name."
            ]
        )
    gap = b"\n" if before.endswith(b"\n") or not before else b"\n\n"
    after = before + gap + text.encode()
    try:
        tomllib.loads(after.decode("utf-8"))
    except tomllib.TOMLDecodeError as error:
        raise ConfigurationError(
            [
                f"network.toml: the feed cannot be added at its end: {error}. Begin each feed with "
                "[[feed]]; nothing was written."
            ]
        ) from None
    write_whole(path, after)
    return "network.toml: the feed was added at its end; what was there is as it was."


def add_site(folder: Path, site_id: str) -> str | None:
    """A row for the site in sites.csv, its facts to be filled in; None when it is there."""
    row = {"site_id": site_id, "practice": "weekly"}
    added = _add_rows(folder / "sites.csv", _SITE_COLUMNS, [row], "site_id")
    return f'sites.csv: a row for "{site_id}"; fill in what is empty.' if added else None


def add_units(folder: Path, site_id: str, serials: list[str]) -> str | None:
    """Rows for the units that the file names in units.csv; None when all are there."""
    plain = [one for one in serials if _SERIAL.fullmatch(one)]
    rows = [{"unit_serial": serial, "site_id": site_id} for serial in plain]
    added = _add_rows(folder / "units.csv", _UNIT_COLUMNS, rows, "unit_serial")
    if not added:
        return None
    return f"units.csv: {added:,} added, serials as in the file; check each, fill in the rest."


def fresh_name(wanted: str) -> str:
    """A feed's name made of a file's: small letters, digits and dashes."""
    plain = re.sub(r"[^a-z0-9]+", "-", wanted.lower()).strip("-")
    # What is left of a date or a number is not what a feed is called by.
    return re.sub(r"(-?[0-9]+)+$", "", plain)[:50].strip("-") or "logs"


def likely_location(path: Path, folder: Path, site_id: str) -> str:
    """Where such files will lie: beside this one when it is in the folder, else under logs/."""
    stem = re.sub(r"[0-9][0-9_.-]*$", "", path.stem.removesuffix(".csv"))
    pattern = f"{stem}*{''.join(path.suffixes[-2:]) if path.suffix in _PACKED else path.suffix}"
    resolved, root = path.resolve(), folder.resolve()
    if not resolved.is_relative_to(root):
        return f"logs/{{site}}/{pattern}"
    parts = resolved.relative_to(root).parent.parts
    return "/".join([*("{site}" if part == site_id else part for part in parts), pattern])


_PACKED = {".gz", ".zst"}


def _add_rows(path: Path, columns: tuple[str, ...], rows: list[dict[str, str]], key: str) -> int:
    before = path.read_text(encoding="utf-8-sig") if path.exists() else ""
    reader = csv.DictReader(io.StringIO(before))
    names = tuple(reader.fieldnames or columns)
    if key not in names:
        raise ConfigurationError([f"{path.name}: has no column {key}; add it to the first line."])
    known = {(row[key] or "").strip() for row in reader}
    fresh = [row for row in rows if row[key] not in known]
    if not fresh:
        return 0
    out = io.StringIO()
    writer = csv.DictWriter(out, names, extrasaction="ignore", lineterminator="\n")
    if not before.strip():
        writer.writeheader()
    elif not before.endswith("\n"):
        out.write("\n")
    writer.writerows(fresh)
    old = path.read_bytes() if path.exists() and before.strip() else b""
    write_whole(path, old + out.getvalue().encode())
    return len(fresh)
