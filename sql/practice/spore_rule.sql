-- practice.spore_rule
-- One row for each profile: how often a unit in use must have a spore test.
-- key: practice
--
-- kind         interval_days: due so many days after the last test that counts
-- days         the interval
-- grace_days   days past due that are still not counted as overdue
-- source       document and section
CREATE OR REPLACE TABLE practice.spore_rule (
    practice VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    days INTEGER NOT NULL,
    grace_days INTEGER NOT NULL,
    source VARCHAR NOT NULL,
)
