-- measure.stop_chart
-- One row for each week of the year and unit in service: the CUSUM of its equipment stops at its end.
-- key: unit_serial, week_on
--
-- week_on           Monday; the last week may not be over
-- level             the sum at the end of the week as a share of its limit: at 1 the unit is named
-- peak              its highest level at the end of a day of the week
-- is_signal         the limit was reached at the end of the week, or of the as-of day
-- is_fresh_start    repaired, serviced, moved or installed in this week: the sum began again at 0
CREATE OR REPLACE TABLE measure.stop_chart (
    unit_serial VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    week_on DATE NOT NULL,
    level DOUBLE NOT NULL,
    peak DOUBLE NOT NULL,
    is_signal BOOLEAN NOT NULL,
    is_fresh_start BOOLEAN NOT NULL,
)
