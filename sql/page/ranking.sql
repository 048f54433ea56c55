-- page.ranking
-- One row for each measure and subject, with its place among the others as a range.
-- key: measure, level, subject_id
--
-- low, high               95 % interval of the share itself
-- likely_low, likely_high 90 % interval of the likely share
-- p_worse                 chance that the true share is above the network's
-- p_tenth                 chance of a place among the worst tenth of those ranked
-- expected_count, ratio   of sites: events expected of their programs and ages of units, and those seen
--                         to them, with the exact 95 % interval ratio_low, ratio_high, and the likely
--                         ratio with its 90 % interval
-- reason                  why it is not ranked
SELECT
    measure,
    level,
    subject_id,
    numerator,
    denominator,
    share,
    low,
    high,
    likely,
    likely_low,
    likely_high,
    position_low,
    position_high,
    position_count,
    p_worse,
    p_tenth,
    expected_count,
    ratio,
    ratio_low,
    ratio_high,
    likely_ratio,
    likely_ratio_low,
    likely_ratio_high,
    is_ranked,
    reason,
FROM measure.ranking
ORDER BY measure, level, subject_id
