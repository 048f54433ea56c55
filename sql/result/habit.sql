-- measure.habit
-- One row for each unit in service: are its maintenance tasks done later and later?
-- key: unit_serial
--
-- interval_count   intervals of any task that ended in the year
-- late_count       of these, late
-- lateness_slope   Theil-Sen change in a year of the interval as a share of what is allowed (1 = on the
--                  day), with its 95 % interval lateness_low, lateness_high; null with fewer than 12
-- state            look_into when the whole interval is above 0 and the middle interval of the last 13
--                  weeks was past due; usual; too_few with fewer than 12 intervals
CREATE OR REPLACE TABLE measure.habit (
    unit_serial VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    interval_count BIGINT NOT NULL,
    late_count BIGINT NOT NULL,
    lateness_slope DOUBLE,
    lateness_low DOUBLE,
    lateness_high DOUBLE,
    state VARCHAR NOT NULL,
)
