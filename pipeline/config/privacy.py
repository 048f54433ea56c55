"""What is kept of people, and for how long: the table [privacy] of network.toml."""

from pathlib import Path
from typing import Any

from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.network import OPERATORS, Privacy

_SETTINGS = {"operator", "key_file", "held_days"}


def read_privacy(
    declared: dict[str, Any], folder: Path, state_folder: Path, faults: Faults
) -> Privacy:
    """The settings as declared; faults are noted, and the careful default stands in."""
    where = "network.toml: privacy"
    for key in declared.keys() - _SETTINGS:
        faults.add(where, f'has no setting "{key}". {did_you_mean(key, _SETTINGS)}')
    operator = declared.get("operator", "pseudonym")
    if operator not in OPERATORS:
        faults.add(where, f"operator is {operator!r}; write keep, pseudonym or drop.")
        operator = "pseudonym"
    days = declared.get("held_days", Privacy.held_days)
    if type(days) is not int or not 0 <= days <= 36_500:
        faults.add(where, f"held_days is {days!r}; write a number of days, such as 90.")
        days = Privacy.held_days
    key_file = declared.get("key_file")
    if key_file is not None and not isinstance(key_file, str):
        faults.add(where, f"key_file is {key_file!r}; write the path of a file.")
        key_file = None
    path = state_folder / "operator.key" if key_file is None else folder / key_file
    if key_file is not None and operator == "pseudonym" and not path.is_file():
        faults.add(
            where, f'key_file "{key_file}" is not there; put 32 random bytes or more into it.'
        )
    return Privacy(operator, path, days)
