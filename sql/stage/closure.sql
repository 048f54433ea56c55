-- stage.closure
-- One row for each span of days on which a site, or one of its units, was not in use.
-- key: file_id, line
--
-- unit_serial   null when the whole site was closed
-- from_on       first day not in use
-- to_on         last day not in use
CREATE TABLE IF NOT EXISTS stage.closure (
    file_id VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    site_id VARCHAR NOT NULL,
    unit_serial VARCHAR,
    from_on DATE,
    to_on DATE,
    reason VARCHAR,
    month DATE,
)
