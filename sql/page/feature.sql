-- page.feature
-- One row for each measured value that shows wear.
-- key: feature
--
-- worse   higher, lower, either: the way in which wear moves it
SELECT
    feature,
    title,
    unit,
    worse,
    why,
    fix,
FROM measure.feature
ORDER BY feature
