-- page.profile
-- One row for each practice profile that a site follows.
-- key: practice
SELECT
    practice,
    title,
    asks,
    jurisdiction,
    reviewed_on,
    unsure,
    parents,
FROM practice.profile
ORDER BY practice
