-- measure.site_habit
-- One row for each site, kind of act and role: are tasks and spore tests done later and later?
-- key: site_id, act, role
--
-- act              task, test: spore tests asked by the day or by use
-- role             of who did it, as logged: user, engineer, test_person; not_noted; of tests all
-- interval_count   intervals that ended in the year
-- late_count       of these, late
-- lateness_slope   Theil-Sen change in a year of the weekly middle interval as a share of what is allowed
--                  (1 = on the day), with its 95 % interval lateness_low, lateness_high; null with fewer
--                  than 12 weeks
-- lately_share     middle of the last 13 weeks, as a share of what is allowed
-- before_share     middle of the weeks before them; null when there are none
-- state            look_into when the whole interval is above 0 and the last 13 weeks were past due in the
--                  middle; usual; too_few with fewer than 12 weeks
CREATE OR REPLACE TABLE measure.site_habit (
    site_id VARCHAR NOT NULL,
    act VARCHAR NOT NULL,
    role VARCHAR NOT NULL,
    interval_count BIGINT NOT NULL,
    late_count BIGINT NOT NULL,
    lateness_slope DOUBLE,
    lateness_low DOUBLE,
    lateness_high DOUBLE,
    lately_share DOUBLE,
    before_share DOUBLE,
    state VARCHAR NOT NULL,
)
