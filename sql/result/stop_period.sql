-- measure.stop_period
-- One row for each of the 13 periods of 28 days in which a unit was in service, judged by its own limit.
-- key: unit_serial, period_on
--
-- stopped_count     load cycles stopped, whatever the reason
-- equipment_count   of these, for a reason that points to the unit itself: what is judged
-- usual_share       as in measure.recent
-- limit_share       more than this comes by chance in less than 1 of 750 periods, the odds of a point
--                   above the upper line of a three-sigma chart; null when nothing was run
-- is_above          equipment_count / run_count is more than limit_share
-- reason            the most common equipment reason of a period above its limit
CREATE OR REPLACE TABLE measure.stop_period (
    unit_serial VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    period_on DATE NOT NULL,
    run_count BIGINT NOT NULL,
    stopped_count BIGINT NOT NULL,
    equipment_count BIGINT NOT NULL,
    usual_share DOUBLE,
    limit_share DOUBLE,
    is_above BOOLEAN NOT NULL,
    reason VARCHAR,
)
