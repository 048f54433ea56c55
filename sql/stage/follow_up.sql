-- stage.follow_up
-- One row for each thing that a person did about a finding.
-- key: file_id, line
--
-- finding_id   as printed beside the finding
-- done_on      the day on which it was done
-- state        open, closed: what the person says; evidence may say otherwise
CREATE TABLE IF NOT EXISTS stage.follow_up (
    file_id VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    site_id VARCHAR NOT NULL,
    finding_id VARCHAR,
    done_on DATE,
    by_role VARCHAR,
    action VARCHAR,
    state VARCHAR,
    month DATE,
)
