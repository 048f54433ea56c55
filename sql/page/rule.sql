-- page.rule
-- One row for each rule of a practice profile that is in force on the as-of day or will be.
-- key: practice, place
SELECT
    practice,
    place,
    section,
    what,
    asks,
    who,
    nullif(valid_from, DATE '0001-01-01') AS valid_from,
    valid_to,
    source,
    confidence,
FROM practice.rule
WHERE valid_to IS NULL OR valid_to >= $to_on
ORDER BY practice, place
