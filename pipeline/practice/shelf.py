"""The profiles that ship, and those that a network keeps in a folder of its own."""

from pathlib import Path

from pipeline.base.assets import asset
from pipeline.base.files import sha256
from pipeline.config.faults import Faults
from pipeline.config.registers import ID
from pipeline.practice.inherit import inherit
from pipeline.practice.profile import Profile
from pipeline.practice.read import read_profile

FOLDER = "practice"
"""Where a network keeps its own profiles, beside network.toml."""


def profile_names(folder: Path | None = None) -> tuple[str, ...]:
    """Names of the profiles there are: those that ship, and those of a network's folder."""
    return tuple(sorted(path.stem for path in [*_shipped(), *_local(folder)]))


def all_profiles(folder: Path | None = None) -> dict[str, Profile]:
    """Every profile there is, by name.

    Raises ConfigurationError with every fault of every file.
    """
    faults = Faults()
    profiles = read_all(folder, faults)
    faults.raise_any()
    return profiles


def local_fingerprint(folder: Path) -> str:
    """Of a network's own profiles: when it changes, the figures are out of date."""
    return sha256("".join(f"{p.name} {sha256(p.read_bytes())}" for p in _local(folder)).encode())


def read_all(folder: Path | None, faults: Faults) -> dict[str, Profile]:
    """Every profile that can be used, by name; what is wrong with the others is noted."""
    shipped = _shipped()
    known = {path.stem for path in shipped}
    declared = {}
    for path in [*shipped, *_local(folder)]:
        if not ID.fullmatch(path.stem):
            faults.add(path.name, "use a-z, 0-9 and dashes for the name of a profile.")
        elif path not in shipped and path.stem in known:
            faults.add(
                path.name,
                "has the name of a profile that ships; rename it, and let it inherit that one.",
            )
        elif one := read_profile(path, faults):
            declared[one.name] = one
    return inherit(declared, faults)


def _shipped() -> list[Path]:
    return sorted(asset("expectations", "practice").glob("*.toml"))


def _local(folder: Path | None) -> list[Path]:
    found = sorted((folder / FOLDER).glob("*.toml")) if folder else []
    return [path for path in found if path.is_file()]
