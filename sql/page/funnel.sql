-- page.funnel
-- One row for each level and volume: between which shares chance leaves a subject.
-- key: level, denominator
--
-- denominator   load cycles in the year; every ranked subject's own is among them
-- dispersion    1 is what chance makes; the limits are widened by its square root
SELECT
    level,
    denominator,
    dispersion,
    low_outer,
    low_inner,
    high_inner,
    high_outer,
FROM measure.funnel
ORDER BY level, denominator
