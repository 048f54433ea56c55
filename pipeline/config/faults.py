"""Gathering of faults: a person mends a file once, not once a fault."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches

from pipeline.base.errors import ConfigurationError


@dataclass
class Faults:
    """The faults found so far, each one sentence that begins with the file it is in."""

    sentences: list[str] = field(default_factory=list)

    def add(self, where: str, sentence: str) -> None:
        """Note a fault."""
        self.sentences.append(f"{where}: {sentence}")

    def raise_any(self) -> None:
        """Raise ConfigurationError with every fault noted, if there is one."""
        if self.sentences:
            raise ConfigurationError(self.sentences)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A sentence with the nearest known word, or with all of them when none is near and few are."""
    words = sorted(known)
    if not words:
        return ""
    near = get_close_matches(word, words, n=1)
    if near:
        return f'Did you mean "{near[0]}"?'
    return f"Known: {', '.join(words)}." if len(words) <= 12 else ""
