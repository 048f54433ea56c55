-- page.spore_rule
-- One row for each rule on spore tests of a practice profile.
-- key: practice, kind
SELECT
    practice,
    kind,
    days,
    grace_days,
    source,
FROM practice.spore_rule
ORDER BY practice, kind
