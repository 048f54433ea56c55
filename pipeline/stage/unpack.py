"""Files as they came from within gzip, zstd and zip, told apart by their first bytes.

Everything is unpacked in memory and nothing is ever written under a member's name, so no path in
an archive leads anywhere. What unpacks without end is refused, as are archives within archives.

Sources of the marks: RFC 1952 (gzip), RFC 8878 (zstd), APPNOTE 6.3.10 section 4.3 (zip).
"""

import io
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fnmatch import fnmatchcase

import pyarrow as pa

from pipeline.base.errors import FileError
from pipeline.config.network import Format

GZIP, ZSTD, ZIP, EMPTY_ZIP = b"\x1f\x8b", b"\x28\xb5\x2f\xfd", b"PK\x03\x04", b"PK\x05\x06"
MOST_BYTES = 512 * 1024 * 1024
MOST_MEMBERS = 10_000
FREE_BYTES, MOST_RATIO = 16 * 1024 * 1024, 250
"""Logs pack to a tenth or a fiftieth; what packs better than this, and is large, is no log."""

_CHUNK = 1024 * 1024
_OF_WORKBOOK = {"[Content_Types].xml", "content.xml", "xl/workbook.xml"}


@dataclass(frozen=True)
class Piece:
    """The bytes of one file, or of one member of an archive, which then has a name."""

    file: int
    data: bytes
    name: str | None = None


def is_packed(data: bytes) -> bool:
    """True for what begins like gzip, zstd or zip; a workbook does as well."""
    return data.startswith((GZIP, ZSTD, ZIP, EMPTY_ZIP))


def pieces_of(file: int, data: bytes, form: Format) -> list[Piece]:
    """The file itself, or what is packed in it; raises FileError for what must not be unpacked."""
    if data.startswith(GZIP):
        content = _read_whole(data, _gunzipped, "gzip")
        return [Piece(file, _not_packed(content, form, "The file"))]
    if data.startswith(ZSTD):
        content = _read_whole(data, _unzstd, "zstd")
        return [Piece(file, _not_packed(content, form, "The file"))]
    if data.startswith((ZIP, EMPTY_ZIP)) and not _is_workbook(data, form):
        return list(_members(file, data, form))
    return [Piece(file, data)]


def _is_workbook(data: bytes, form: Format) -> bool:
    """True where a zip is to be opened by the reader of workbooks, damaged ones as well."""
    if form.kind != "spreadsheet":
        return False
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            return not _OF_WORKBOOK.isdisjoint(package.namelist())
    except Exception:  # A damaged package makes zipfile raise what it likes.
        return True


def _not_packed(data: bytes, form: Format, what: str) -> bytes:
    if is_packed(data) and not (data.startswith(ZIP) and _is_workbook(data, form)):
        raise FileError(
            f"{what} holds an archive within an archive, which is not opened. Send the log "
            "itself, or packed once."
        )
    return data


def _read_whole(data: bytes, chunks: Callable[[bytes], Iterator[bytes]], name: str) -> bytes:
    parts, size = list[bytes](), 0
    try:
        for chunk in chunks(data):
            parts.append(chunk)
            size += len(chunk)
            _check_size(size, len(data))
    except (OSError, EOFError, zlib.error) as error:
        raise FileError(
            f"The file is packed by {name} and cannot be unpacked ({error}). It may have been cut "
            "short: send it again."
        ) from None
    return b"".join(parts)


def _check_size(size: int, packed: int) -> None:
    if size > MOST_BYTES or (size > FREE_BYTES and size > MOST_RATIO * packed):
        raise FileError(
            f"The file unpacks to more than {size - 1:,} bytes from {packed:,}; that is no log. "
            "Send it in parts, or unpacked."
        )


def _gunzipped(data: bytes) -> Iterator[bytes]:
    """The content, some at a time; a file may be several packed ones, one after the other."""
    while data:
        unpacker = zlib.decompressobj(wbits=31)
        while not unpacker.eof:
            chunk = unpacker.decompress(data, _CHUNK)
            data = unpacker.unconsumed_tail
            if not chunk and not data and not unpacker.eof:
                raise EOFError("it ends in the middle")
            yield chunk
        # Tapes and some servers fill up with zeros.
        data = unpacker.unused_data.lstrip(b"\0")


def _unzstd(data: bytes) -> Iterator[bytes]:
    with pa.input_stream(pa.BufferReader(data), compression="zstd") as stream:
        while chunk := stream.read(_CHUNK):
            yield chunk


def _members(file: int, data: bytes, form: Format) -> Iterator[Piece]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            chosen = _chosen(package, form.settings.get("members"))
            size = 0
            for member in chosen:
                with package.open(member) as stream:
                    content = bytearray()
                    while chunk := stream.read(_CHUNK):
                        content += chunk
                        _check_size(size + len(content), len(data))
                size += len(content)
                told = f'"{member.filename}"'
                yield Piece(file, _not_packed(bytes(content), form, told), member.filename)
    except FileError:
        raise
    except NotImplementedError:
        raise FileError(
            "The archive is packed in a way that is not read here. Pack it with deflate, the usual "
            "way, or send the log itself."
        ) from None
    except Exception as error:  # A damaged archive makes zipfile raise what it likes.
        raise FileError(f"The archive is damaged ({error}). Send it again.") from None


def _chosen(package: zipfile.ZipFile, pattern: str | None) -> list[zipfile.ZipInfo]:
    # Finder adds a shadow of each file under __MACOSX (common practice, no source).
    files = [
        one
        for one in package.infolist()
        if not one.is_dir() and not one.filename.startswith("__MACOSX/")
    ]
    chosen = [
        one
        for one in files
        if pattern is None
        or fnmatchcase(one.filename, pattern)
        or fnmatchcase(one.filename.rpartition("/")[2], pattern)
    ]
    if not chosen:
        found = ", ".join(f'"{one.filename[:40]}"' for one in files[:20]) or "nothing"
        wanted = "a file" if pattern is None else f'a file like "{pattern}"'
        raise FileError(
            f"The archive holds no such thing as {wanted}; found: {found}. Send the right one, or "
            "change the members of the feed's format."
        )
    if len(chosen) > MOST_MEMBERS:
        raise FileError(f"The archive holds {len(chosen):,} files. Send {MOST_MEMBERS:,} or fewer.")
    if any(one.flag_bits & 1 for one in chosen):
        raise FileError("The archive asks for a password. Send it without, over a safe way.")
    return chosen
