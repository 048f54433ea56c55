-- stage.reading
-- One row for each logged sample of a cycle.
-- key: file_id, line
--
-- started_local     start of the cycle, by the unit's clock; null when the feed logs only instants
-- instant_local     when the sample was taken; null when the feed logs only elapsed time
-- elapsed_seconds   since the start of the cycle; null when the feed logs only instants
-- chamber_kpa       absolute
-- ambient_kpa       air pressure that was added to gauge readings; null where there were none
-- month             first day of the month of started_local, or else of instant_local
CREATE TABLE IF NOT EXISTS stage.reading (
    file_id VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    site_id VARCHAR NOT NULL,
    unit_serial VARCHAR,
    cycle_number BIGINT,
    started_text VARCHAR,
    started_local TIMESTAMP,
    started_utc TIMESTAMP,
    instant_text VARCHAR,
    instant_local TIMESTAMP,
    instant_utc TIMESTAMP,
    is_time_doubtful BOOLEAN,
    elapsed_seconds DOUBLE,
    chamber_celsius DOUBLE,
    chamber_kpa DOUBLE,
    ambient_kpa DOUBLE,
    month DATE,
)
