-- practice.spore_rule
-- One row for each rule on spore tests of a profile, with what it inherits, and the days on which it holds.
-- key: practice, rule, valid_from
--
-- rule                    routine, or implant: of loads with implants
-- kind                    interval_days     so many days after the last test that counts
--                         calendar_week     one in each calendar week of use
--                         use_day           one on each day of use
--                         minutes_or_days   so many minutes of running or days, whichever comes first
--                         days_or_cycles    so many days or cycles, whichever comes first
--                         days_by_use       so many days; fewer when used much
--                         per_load          one in each load with implants
--                         not_asked         none as a routine
-- days, cycles, minutes   the figures that the kind names; null otherwise
-- busy_days, busy_cycles  of days_by_use: the days of a unit that ran more load cycles than this within as
--                         many days as `days` says
-- week_starts             1 Monday to 7 Sunday; null means Monday where the kind asks for it
-- is_per_program          one for each program in use, not one for the unit
-- grace_days              days past due that are still not counted as overdue
-- result_days             a result awaited for more days than this is late
-- is_paused_when_closed   days on which the unit was closed do not count
-- valid_from, valid_to    the days on which it holds, without the last; valid_from is 0001-01-01 where the
--                         rule has held all along, and valid_to is null while it does
-- source                  document and section, or that there is none
-- confidence              read, reported, memory, common_practice, derived, policy
-- declared_by             the profile that says so: this one, or one that it inherits from
CREATE OR REPLACE TABLE practice.spore_rule (
    practice VARCHAR NOT NULL,
    rule VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    days INTEGER,
    cycles INTEGER,
    minutes INTEGER,
    busy_days INTEGER,
    busy_cycles INTEGER,
    week_starts INTEGER,
    is_per_program BOOLEAN NOT NULL,
    grace_days INTEGER NOT NULL,
    result_days INTEGER NOT NULL,
    is_paused_when_closed BOOLEAN NOT NULL,
    valid_from DATE NOT NULL,
    valid_to DATE,
    source VARCHAR NOT NULL,
    confidence VARCHAR NOT NULL,
    declared_by VARCHAR NOT NULL,
)
