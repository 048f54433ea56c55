-- measure.ranking
-- One row for each measure and subject: x of n over the year, what is likely, and the position as a range.
-- Here reason is a message: stored as what it is made of (base/message.py), spoken when it is read.
-- key: measure, level, subject_id
--
-- level             network, region, site, unit
-- subject_id        "network", region_id, site_id, unit_serial
-- share             numerator / denominator; null when nothing was run
-- low, high         95 % interval of the share (Wilson); null when nothing was run
-- likely            share drawn towards the others of the level (empirical Bayes), with its 90 %
--                   interval likely_low, likely_high; null for the network, and when nobody ran anything
-- position_low      1 is the worst; with position_high the range that holds the position in 90 of 100
--                   cases, among the position_count subjects of the level that are ranked
-- p_worse           probability that the true share is worse than that of all ranked together
-- p_tenth           probability of a position among the worst tenth of those ranked, at least one
-- expected_count    of sites, and of measures that say how: events if each family of programs and age of
--                   unit had the network's share; numerator / expected_count is the ratio, with its
--                   exact 95 % interval ratio_low, ratio_high; the likely ratio is drawn towards the
--                   others (gamma-Poisson), with its 90 % interval
-- is_ranked         false for the network, for what is not in service, and below the measure's minimum
-- reason            why it is not ranked, in words; null when it is
CREATE OR REPLACE TABLE measure.ranking (
    measure VARCHAR NOT NULL,
    level VARCHAR NOT NULL,
    subject_id VARCHAR NOT NULL,
    numerator BIGINT NOT NULL,
    denominator BIGINT NOT NULL,
    share DOUBLE,
    low DOUBLE,
    high DOUBLE,
    likely DOUBLE,
    likely_low DOUBLE,
    likely_high DOUBLE,
    position_low BIGINT,
    position_high BIGINT,
    position_count BIGINT,
    p_worse DOUBLE,
    p_tenth DOUBLE,
    expected_count DOUBLE,
    ratio DOUBLE,
    ratio_low DOUBLE,
    ratio_high DOUBLE,
    likely_ratio DOUBLE,
    likely_ratio_low DOUBLE,
    likely_ratio_high DOUBLE,
    is_ranked BOOLEAN NOT NULL,
    reason VARCHAR,
)
