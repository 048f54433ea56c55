-- practice.response_rule
-- One row for each thing that a profile asks for after growth, and the days on which it holds.
-- key: practice, step, condition, valid_from
--
-- place         the order in which the steps are taken
-- step          out_of_service, review, repeat_same_cycle, consecutive_runs, steam_penetration,
--               inspect_or_repair, recall_since_last_negative, requalify
-- condition     growth (at once), second_growth (a repeat grew too), implant_load (the load held implants),
--               defect_found, repaired
-- test_count    clear tests that the step takes, one after another; null for a step that is no test
-- within_days   days after the growth was known within which it is done; null where no rule says
-- The other columns are those of practice.spore_rule.
CREATE OR REPLACE TABLE practice.response_rule (
    practice VARCHAR NOT NULL,
    place INTEGER NOT NULL,
    step VARCHAR NOT NULL,
    condition VARCHAR NOT NULL,
    test_count INTEGER,
    within_days INTEGER,
    valid_from DATE NOT NULL,
    valid_to DATE,
    source VARCHAR NOT NULL,
    confidence VARCHAR NOT NULL,
    declared_by VARCHAR NOT NULL,
)
