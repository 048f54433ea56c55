-- practice.task_rule
-- One row for each maintenance task that a profile asks for, and the days on which the rule holds.
-- key: practice, task, valid_from
--
-- days                    at most so many days between two acts; null when only cycles count
-- cycles                  at most so many cycles between two acts; null when only days count
-- grace_days              later than this many days past due counts as late, and is a finding
-- act_now_days            overdue by more than this needs action now; null: never
-- is_paused_when_closed   days on which the unit was closed do not count
-- who                     user, engineer, test person
-- The other columns are those of practice.spore_rule.
CREATE OR REPLACE TABLE practice.task_rule (
    practice VARCHAR NOT NULL,
    task VARCHAR NOT NULL,
    days INTEGER,
    cycles INTEGER,
    grace_days INTEGER NOT NULL,
    act_now_days INTEGER,
    is_paused_when_closed BOOLEAN NOT NULL,
    who VARCHAR NOT NULL,
    valid_from DATE NOT NULL,
    valid_to DATE,
    source VARCHAR NOT NULL,
    confidence VARCHAR NOT NULL,
    declared_by VARCHAR NOT NULL,
)
