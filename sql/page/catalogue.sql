-- page.catalogue
-- One row for each measure: what it counts, why, and where it is from.
-- key: measure
--
-- better    lower, higher, none
-- minimum   fewer than this are shown, not ranked
SELECT
    measure,
    title,
    numerator,
    denominator,
    better,
    target,
    minimum,
    is_ranked,
    why,
    fix,
    owner,
    source,
    reviewed_on,
FROM measure.catalogue
ORDER BY NOT is_ranked, measure
