-- measure.recent
-- One row for each unit in service: equipment stops of the last 28 days against what is usual for it.
-- key: unit_serial
--
-- run_count        load cycles started in the last 28 days
-- stopped_count    of these, stopped for a reason that points to the unit itself
-- usual_share      likely share of the twelve months before, drawn towards the other units
-- expected_count   usual_share x run_count
-- p_value          probability of so many stops or more if nothing has changed (exact binomial)
CREATE OR REPLACE TABLE measure.recent (
    unit_serial VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    stopped_count BIGINT NOT NULL,
    run_count BIGINT NOT NULL,
    usual_share DOUBLE,
    expected_count DOUBLE,
    p_value DOUBLE,
)
