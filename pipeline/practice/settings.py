"""Checks the settings of a TOML table against the fields of a class, and notes every fault."""

from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass, fields
from datetime import date
from typing import Annotated, Any, Literal, get_args, get_origin, get_type_hints

from pipeline.config.faults import Faults, did_you_mean

_WORDS = {
    str: "a text",
    int: "a whole number",
    bool: "true or false",
    date: "a day, such as 2026-03-01",
}
_OURS = {"declared_by"}


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting as TOML writes it: its type, and the words or the figures that it may have."""

    key: str
    field: str
    type: type
    words: tuple[str, ...] = ()
    figures: range | None = None
    is_needed: bool = False


def settings_of(rule: type[Any]) -> Iterator[Setting]:
    """The settings that a dataclass declares, each from the type of its field."""
    hints = get_type_hints(rule, include_extras=True)
    for field in fields(rule):
        if field.name in _OURS:
            continue
        hint = hints[field.name]
        hint = next((one for one in get_args(hint) if get_origin(one) is Annotated), hint)
        key = field.name.removeprefix("is_")
        needed = field.default is MISSING
        if get_origin(hint) is Annotated:
            yield Setting(key, field.name, int, figures=get_args(hint)[1], is_needed=needed)
        elif get_origin(hint) is Literal:
            yield Setting(key, field.name, str, words=get_args(hint), is_needed=needed)
        else:
            plain = next(one for one in (*get_args(hint), hint) if one in _WORDS)
            yield Setting(key, field.name, plain, is_needed=needed)


def read_settings(
    where: str, declared: Mapping[str, Any], rule: type[Any], faults: Faults
) -> dict[str, Any] | None:
    """Values by field; None, with every fault noted, when the table cannot be used."""
    noted = len(faults.sentences)
    settings = {one.key: one for one in settings_of(rule)}
    for key, one in settings.items():
        if one.is_needed and key not in declared:
            faults.add(where, f"does not say {key}; it is needed.")
    for key, value in declared.items():
        if key in settings:
            _check(where, settings[key], value, faults)
        else:
            faults.add(where, f'has no setting "{key}". {did_you_mean(key, settings)}')
    if len(faults.sentences) > noted:
        return None
    return {settings[key].field: value for key, value in declared.items()}


def _check(where: str, setting: Setting, value: Any, faults: Faults) -> None:
    key = setting.key
    # By exact type, because true is an int and an instant is a date to isinstance.
    if type(value) is not setting.type:
        faults.add(where, f"has {key} = {value!r}; write {_WORDS[setting.type]}.")
    elif value == "":
        faults.add(where, f"has {key} = '', which is too little to go by.")
    elif setting.words and value not in setting.words:
        faults.add(where, f'has {key} = "{value}". {did_you_mean(str(value), setting.words)}')
    elif setting.figures and value not in setting.figures:
        figures = setting.figures
        faults.add(
            where, f"has {key} = {value}; write a number from {figures[0]} to {figures[-1]:,}."
        )
