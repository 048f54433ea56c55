-- page.funnel
-- One row for each volume at which the limits of the funnel were worked out.
-- key: level, denominator
SELECT
    level,
    denominator,
    low_outer,
    low_inner,
    high_inner,
    high_outer,
FROM measure.funnel
ORDER BY level, denominator
