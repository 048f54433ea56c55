-- practice.routine_rule
-- One row for each routine test or check that is no spore test, and the days on which it holds.
-- key: practice, test, valid_from
--
-- test          steam_penetration, leak, automatic_control, chemical_in_load, implant_quarantine (a load
--               with implants waits for its spore test's result)
-- kind          use_day, calendar_week, interval_days, per_load (each load; of implant_quarantine each load
--               with implants)
-- days          of interval_days; null otherwise
-- week_starts   1 Monday to 7 Sunday; null means Monday where the kind asks for it
-- grace_days    days past due that are still not counted as overdue
-- applies_to    all, or vacuum: units that pull a vacuum
-- The other columns are those of practice.spore_rule.
CREATE OR REPLACE TABLE practice.routine_rule (
    practice VARCHAR NOT NULL,
    test VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    days INTEGER,
    week_starts INTEGER,
    grace_days INTEGER NOT NULL,
    applies_to VARCHAR NOT NULL,
    valid_from DATE NOT NULL,
    valid_to DATE,
    source VARCHAR NOT NULL,
    confidence VARCHAR NOT NULL,
    declared_by VARCHAR NOT NULL,
)
