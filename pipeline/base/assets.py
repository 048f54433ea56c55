"""Where the files that are not Python are: sql/, expectations/ and reports/."""

from pathlib import Path

from pipeline.base.files import sha256

_IN_WHEEL = Path(__file__).parent.parent / "_assets"
_IN_CHECKOUT = Path(__file__).parent.parent.parent


def asset(*parts: str) -> Path:
    """Path of a file or folder, such as `asset("sql", "model")`.

    A wheel carries the three folders inside the package; a checkout has them at its top level.
    """
    root = _IN_WHEEL if _IN_WHEEL.is_dir() else _IN_CHECKOUT
    path = root.joinpath(*parts)
    assert path.exists(), f"the installation has no {'/'.join(parts)}"
    return path


def fingerprint(*folders: tuple[str, ...]) -> str:
    """Of every file in these folders: when it changes, what was made with them is out of date."""
    files = [path for parts in folders for path in sorted(asset(*parts).rglob("*"))]
    return sha256("".join(sha256(path.read_bytes()) for path in files if path.is_file()).encode())
