-- measure.state
-- One row for each unit in service and each site, region and the network: its most urgent state.
-- Here reason is a message: stored as what it is made of (base/message.py), spoken when it is read.
-- key: level, subject_id
--
-- level        network, region, site, unit
-- subject_id   "network", region_id, site_id, unit_serial
-- state        act_now, look_into, usual, too_few, not_seen: of a site the most urgent of its units and
--              its own findings; of a region or the network the most urgent of its sites
-- kind         of the finding that decided it; null when none did
-- reason       why, in words
CREATE OR REPLACE TABLE measure.state (
    level VARCHAR NOT NULL,
    subject_id VARCHAR NOT NULL,
    state VARCHAR NOT NULL,
    kind VARCHAR,
    reason VARCHAR NOT NULL,
)
