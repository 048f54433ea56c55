"""The language of a group, a site or a reader: one of those for which reports/ has words."""

from pipeline.base.language import LANGUAGES, ORIGINAL
from pipeline.config.faults import Faults, did_you_mean

_SHORT = {"en": ORIGINAL}
"""What may be written in short."""


def read_language(declared: object, usual: str, where: str, faults: Faults) -> str:
    """The language declared, or the usual one where nothing is; a fault is noted."""
    if declared is None or declared == "":
        return usual
    language = _SHORT.get(str(declared), str(declared))
    if language in LANGUAGES:
        return language
    hint = did_you_mean(language, LANGUAGES)
    known = ", ".join(LANGUAGES)
    faults.add(where, f'language is "{declared}"; write one of: {known}. {hint}'.rstrip())
    return usual
