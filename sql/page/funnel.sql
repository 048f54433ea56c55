-- page.funnel
-- One row for each level and volume: between which shares chance leaves a subject.
-- key: level, denominator
--
-- denominator   load cycles in the year; every ranked subject's own is among them
-- widening      none, multiplicative or additive
-- dispersion    1 is what chance makes; multiplicative, the limits are widened by its square root
-- between_share additive: how far true shares lie from the common one, one sigma
SELECT
    level,
    denominator,
    dispersion,
    low_outer,
    low_inner,
    high_inner,
    high_outer,
    widening,
    between_share,
FROM measure.funnel
ORDER BY level, denominator
