-- page.profile
-- One row for each practice profile that a site follows.
-- key: practice
SELECT
    practice,
    title,
    asks,
    reviewed_on,
FROM practice.profile
ORDER BY practice
