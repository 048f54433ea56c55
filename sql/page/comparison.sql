-- page.comparison
-- One row for each question that was put to many: how many were named, and how many by luck alone.
-- key: question
SELECT
    question,
    asked_count,
    named_count,
    luck_count,
FROM measure.comparison
ORDER BY question
