"""A finding as a value: its lasting name, and its place in the order of urgency."""

from dataclasses import dataclass
from datetime import date

from pipeline.base.files import short_id
from pipeline.base.message import Message

STATES = ("act_now", "look_into", "usual", "too_few", "not_seen")
"""Most urgent first."""
KINDS = (
    "growth",
    "cycle_broken",
    "implant_untested",
    "indicator_unchanged",
    "routine_failed",
    "spore_overdue",
    "event_test",
    "incident",
    "stops_recent",
    "stops_year",
    "spore_pending",
    "task_overdue",
    "routine_missed",
    "clock",
    "drift",
    "habit",
    "silent",
)
"""Facts about spore tests come first, then signals from counts, then upkeep."""
FACTS = (
    "growth",
    "cycle_broken",
    "implant_untested",
    "indicator_unchanged",
    "routine_failed",
    "spore_overdue",
    "event_test",
    "incident",
    "spore_pending",
    "task_overdue",
    "routine_missed",
)
"""These stand when a unit falls silent; a signal of what it did before is then no more than old."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that needs a person; `unit_serial` is None when it is of the whole site.

    `weight` orders findings of one state and kind, heaviest first; it means nothing between kinds.
    `rule` names the rule of the practice that asks for what is missing; `source` is the rule's, in
    its own words unless it is a message. `counted_on` is the first day that the sentence counts,
    where that is not the first of the episode. Messages are spoken in the language of whoever
    reads them.
    """

    kind: str
    state: str
    site_id: str
    unit_serial: str | None
    since_on: date
    why: Message
    next_step: Message
    weight: float
    task: str | None = None
    feature: str | None = None
    rule: str | None = None
    source: str | None = None
    counted_on: date | None = None

    @property
    def finding_id(self) -> str:
        """The same in every build, as long as the episode began on the same day."""
        subject = self.unit_serial or self.site_id
        return short_id(self.kind, subject, self.task or "", self.since_on.isoformat())

    @property
    def urgency_key(self) -> tuple[int, int, float, str, str, str]:
        """Sorts the most urgent first, and never leaves two findings in any order."""
        return (
            STATES.index(self.state),
            KINDS.index(self.kind),
            -self.weight,
            self.site_id,
            self.unit_serial or "",
            self.finding_id,
        )
