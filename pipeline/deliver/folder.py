"""A folder as the way out: each letter is a file that any mail reader opens."""

from pathlib import Path

from pipeline.base.files import write_whole
from pipeline.deliver.outcome import LATER, SENT, Outcome


class FolderDoor:
    """Writes <letter_id>.eml; a letter that is handed over twice is one file."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def open(self) -> None:
        """Nothing is to be done before the first letter."""

    def send(self, letter_id: str, address: str, data: bytes) -> Outcome:
        """Write the letter; a disk that is full or closed is tried again later."""
        try:
            write_whole(self._folder / f"{letter_id}.eml", data)
        except OSError as error:
            return Outcome(LATER, f"could not be written: {type(error).__name__}")
        return Outcome(SENT, "written")

    def close(self) -> None:
        """Nothing is held open."""
