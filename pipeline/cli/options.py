"""Options that several commands have in common, as parents of their parsers."""

import argparse
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def quiet() -> argparse.ArgumentParser:
    """--quiet, of commands that log a line a step; `parsed.quiet`."""
    parent = argparse.ArgumentParser(add_help=False)
    parent.add_argument("--quiet", action="store_true", help="only warnings, no line a step")
    return parent


def placed() -> argparse.ArgumentParser:
    """--folder, of commands that read a network's declarations; `parsed.folder`."""
    parent = argparse.ArgumentParser(add_help=False)
    parent.add_argument(
        "--folder", type=Path, default=Path(), help="where network.toml is (default: here)"
    )
    return parent


def running() -> argparse.ArgumentParser:
    """--json and --memory-limit, of commands that do the main job."""
    parent = argparse.ArgumentParser(add_help=False)
    parent.add_argument("--json", action="store_true", help="end with one line for machines")
    parent.add_argument("--memory-limit", help="of the database, such as 2GB")
    return parent


def dated() -> argparse.ArgumentParser:
    """--as-of, of commands whose figures count up to a day; `parsed.as_of`, or None."""
    parent = argparse.ArgumentParser(add_help=False)
    parent.add_argument(
        "--as-of",
        type=date.fromisoformat,
        help="last day that counts, such as 2026-10-31 (default: yesterday)",
    )
    return parent
