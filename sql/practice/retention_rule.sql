-- practice.retention_rule
-- One row for each class of records that a profile asks to keep, and the days on which the rule holds.
-- key: practice, record, valid_from
--
-- record   spore_test, cycle, task, validation
-- keep     years_from_record   so many years from the day of the record
--          calendar_years      to the end of so many calendar years after the record's own
--          life_of_unit        as long as the unit lives
-- years    null for life_of_unit
-- The other columns are those of practice.spore_rule.
CREATE OR REPLACE TABLE practice.retention_rule (
    practice VARCHAR NOT NULL,
    record VARCHAR NOT NULL,
    keep VARCHAR NOT NULL,
    years INTEGER,
    valid_from DATE NOT NULL,
    valid_to DATE,
    source VARCHAR NOT NULL,
    confidence VARCHAR NOT NULL,
    declared_by VARCHAR NOT NULL,
)
