-- measure.drift
-- One row for each unit in service, program and feature: is the middle value of the week drifting?
-- key: unit_serial, program, feature
--
-- baseline_on       day from which the baseline is taken: the last service, repair, move or
--                   installation, or the beginning of the history
-- baseline_low      5 % and, with baseline_high, 95 % of the weekly middles of the first 26 weeks since
--                   (at least 8, never the last 3); null with fewer
-- latest            middle value of the last whole week with cycles
-- since_on          Monday of the first week of the present run outside on the worse side; null when inside
-- weeks_outside     weeks in that run
-- slope_per_month   Theil-Sen, over the last 26 weeks since baseline_on, with its 95 % interval
--                   slope_low, slope_high; null with fewer than 3
-- p_value           of the unit and feature: chance that half of its programs or more would lie outside
--                   for so many weeks in a row if all weeks were alike
-- adjusted_p        the same, adjusted for the number of units and features judged (Benjamini-Hochberg)
-- onset_on          Monday of the week in which the present rise began, by CUSUM; null without one
-- limit_value       that the feature must not pass; null where nobody has set one
-- limit_soonest_on, limit_likely_on, limit_latest_on
--                   when the line of the weeks since the onset (8 to 26 of them) reaches it, and the ends
--                   of its slope's 95 % interval through its middle; null when there is no drift, or not within two years
-- state, reason     look_into  outside   the last 3 weeks or more outside, the slope's whole interval
--                                        in the worse direction, and a trend that stands
--                   look_into  shared    the same, at most units of the site at once
--                   usual      luck      the same, but among so many rows luck explains it
--                   usual      alone     the same, but in fewer than half of the unit's judged programs
--                   usual      usual
--                   too_few    too_few   fewer than 11 weeks since baseline_on
--                   not_seen   stale     no week with cycles in the last 28 days
CREATE OR REPLACE TABLE measure.drift (
    unit_serial VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    program VARCHAR NOT NULL,
    feature VARCHAR NOT NULL,
    baseline_on DATE NOT NULL,
    baseline_low DOUBLE,
    baseline_high DOUBLE,
    latest DOUBLE NOT NULL,
    since_on DATE,
    weeks_outside BIGINT NOT NULL,
    slope_per_month DOUBLE,
    slope_low DOUBLE,
    slope_high DOUBLE,
    p_value DOUBLE,
    adjusted_p DOUBLE,
    onset_on DATE,
    limit_value DOUBLE,
    limit_soonest_on DATE,
    limit_likely_on DATE,
    limit_latest_on DATE,
    state VARCHAR NOT NULL,
    reason VARCHAR NOT NULL,
)
