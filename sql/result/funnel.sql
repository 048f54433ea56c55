-- measure.funnel
-- One row for each level and volume: between which shares of equipment stops chance leaves a subject.
-- key: level, denominator
--
-- level         site, unit
-- denominator   load cycles in the year: those of each ranked subject, and points between for the line
-- share         of the whole network
-- widening      none, multiplicative or additive: the one under which the scores are likelier
-- dispersion    mean squared score of the ranked subjects, winsorised; 1 is what chance makes
-- between_share how far true shares lie from the common one, one sigma; 0 unless the widening is additive
-- low_outer, low_inner, high_inner, high_outer
--               exact binomial limits, interpolated: 1 in 500 and 1 in 20 lie outside by luck alone;
--               moved away from the share by the square root of the dispersion or, additive, of how
--               many times chance and between_share together vary as much as chance at that volume
CREATE OR REPLACE TABLE measure.funnel (
    level VARCHAR NOT NULL,
    denominator BIGINT NOT NULL,
    share DOUBLE NOT NULL,
    widening VARCHAR NOT NULL,
    dispersion DOUBLE NOT NULL,
    between_share DOUBLE NOT NULL,
    low_outer DOUBLE NOT NULL,
    low_inner DOUBLE NOT NULL,
    high_inner DOUBLE NOT NULL,
    high_outer DOUBLE NOT NULL,
)
