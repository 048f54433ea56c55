-- page.task_rule
-- One row for each maintenance task of a practice profile, with how often it is due.
-- key: practice, task
SELECT
    practice,
    task,
    days,
    cycles,
    grace_days,
    is_paused_when_closed,
    who,
    source,
FROM practice.task_rule
ORDER BY practice, task
