"""What staging came to, as a value and as a line of the log."""

from dataclasses import dataclass


@dataclass(frozen=True)
class StageResult:
    """Files and records; every record is staged or held, unless its file was set aside."""

    file_ids: tuple[str, ...] = ()
    staged_count: int = 0
    held_count: int = 0
    rejected_count: int = 0

    def __add__(self, other: "StageResult") -> "StageResult":
        return StageResult(
            self.file_ids + other.file_ids,
            self.staged_count + other.staged_count,
            self.held_count + other.held_count,
            self.rejected_count + other.rejected_count,
        )

    def __str__(self) -> str:
        return (
            f"{len(self.file_ids):,} files, {self.staged_count + self.held_count:,} records = "
            f"{self.staged_count:,} staged + {self.held_count:,} held; "
            f"{self.rejected_count:,} files set aside"
        )
