-- measure.recent
-- One row for each unit in service: its equipment stops of late against what is usual for it.
-- key: unit_serial
--
-- run_count             load cycles started in the last 28 days, or since its last repair, service or move
-- stopped_count         of these, stopped for a reason that points to the unit itself
-- short_run_count, short_stopped_count
--                       the same of the last 7 days
-- usual_share           likely share of the twelve months before the 28 days, drawn towards the other units
-- expected_count        usual_share x run_count
-- p_value               probability of so many stops or more if nothing has changed (exact binomial): the
--                       smaller of both spans, doubled
-- adjusted_p            the same, adjusted for the number of units asked (Benjamini-Hochberg)
CREATE OR REPLACE TABLE measure.recent (
    unit_serial VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    stopped_count BIGINT NOT NULL,
    run_count BIGINT NOT NULL,
    short_stopped_count BIGINT NOT NULL,
    short_run_count BIGINT NOT NULL,
    usual_share DOUBLE,
    expected_count DOUBLE,
    p_value DOUBLE,
    adjusted_p DOUBLE,
)
