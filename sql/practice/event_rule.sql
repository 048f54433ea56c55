-- practice.event_rule
-- One row for each event, and kind of test, that must be clear before the first load after it.
-- key: practice, event, test, valid_from
--
-- event            installation, repair, relocation, loaner, idle, growth (confirmed, once it is mended)
-- test             biological, steam_penetration, leak
-- test_count       clear tests, one after another
-- is_per_program   so many for each program in use, not for the unit
-- idle_days        days unused from which on the event is one; null for other events than idle
-- applies_to       all, or vacuum: units that pull a vacuum
-- The other columns are those of practice.spore_rule.
CREATE OR REPLACE TABLE practice.event_rule (
    practice VARCHAR NOT NULL,
    event VARCHAR NOT NULL,
    test VARCHAR NOT NULL,
    test_count INTEGER NOT NULL,
    is_per_program BOOLEAN NOT NULL,
    idle_days INTEGER,
    applies_to VARCHAR NOT NULL,
    valid_from DATE NOT NULL,
    valid_to DATE,
    source VARCHAR NOT NULL,
    confidence VARCHAR NOT NULL,
    declared_by VARCHAR NOT NULL,
)
