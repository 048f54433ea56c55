"""What in a unit's book of tasks looks filled in afterwards, in words that accuse nobody."""

from pipeline.base.phrases import phrase
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.tables import Tables
from pipeline.render.words import count


def book_notes(tables: Tables, unit: UnitRow) -> tuple[str, ...]:
    """One sentence for all of it; nothing when nothing is more than a slip."""
    row = tables.task_books.get(unit.unit_serial)
    if row is None:
        return ()
    together = phrase("task_book.together", row.together_count)
    told = (
        (row.is_same_counter, "same_counter", row.same_counter_count, row.counter_count),
        (row.is_round, "round", row.round_count, row.counter_count),
        (row.is_closed, "closed", row.closed_count, row.act_count),
        (row.is_early, "early", row.early_count, row.interval_count),
        (row.is_twice, "twice", row.noted_twice_count, row.act_count),
    )
    parts = [
        phrase(f"task_book.told.{name}", number, total=count(total), together=together)
        for is_told, name, number, total in told
        if is_told
    ]
    return (" ".join([phrase("task_book.lead"), *parts]),)
