-- page.loosening
-- One row for each rule in which a practice profile asks, on the as-of day, for less than it inherits.
-- key: practice, rule
SELECT
    practice,
    rule,
    ancestor,
    what,
    ancestor_asks,
    asks,
    reason,
FROM practice.loosening
WHERE valid_from < $to_on AND (valid_to IS NULL OR valid_to >= $to_on)
ORDER BY practice, rule
