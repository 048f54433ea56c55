-- page.task_rule
-- One row for each maintenance task of a practice profile, with how often it is due.
-- key: practice, task
SELECT
    practice,
    task,
    days,
    cycles,
    source,
    who,
FROM practice.task_rule
ORDER BY practice, task
