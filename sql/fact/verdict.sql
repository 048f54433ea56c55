-- fact.verdict
-- One row for each unit, program and verdict: finished cycles of the twelve months, and why.
-- key: unit_serial, program, judged_from, verdict, code
--
-- program       null when the log names none
-- judged_from   readings, logged, nothing
-- verdict       meets, breaks, cannot_tell
-- code          the limit that is broken, or why it cannot be told: as in judge.cycle; echo when the log
--               prints what was set, repeat when the cycle tells the same as its neighbours; none for meets
WITH told AS (
    SELECT
        judged.unit_serial,
        judged.program,
        judged.judged_from,
        judged.verdict = 'meets'
            AND judged.judged_from = 'logged'
            AND echo.cycle_count IS NOT NULL AS is_echo,
        judged.verdict = 'meets' AND again.cycle_id IS NOT NULL AS is_repeat,
        CASE WHEN is_echo OR is_repeat THEN 'cannot_tell' ELSE judged.verdict END AS verdict,
        CASE
            WHEN is_echo THEN 'echo'
            WHEN is_repeat THEN 'repeat'
            ELSE coalesce(judged.broken, judged.reason, 'none')
        END AS code,
    FROM judge.cycle AS judged
    LEFT JOIN fact.verdict_echo AS echo
        ON echo.unit_serial = judged.unit_serial AND echo.program = judged.program
    LEFT JOIN fact.verdict_repeat AS again ON again.cycle_id = judged.cycle_id
    WHERE judged.verdict <> 'not_asked'
        AND judged.outcome = 'complete'
        AND judged.started_on >= $from_on
        AND judged.started_on < $to_on
)
SELECT
    unit_serial,
    program,
    judged_from,
    verdict,
    code,
    count(*) AS cycle_count,
FROM told
GROUP BY unit_serial, program, judged_from, verdict, code
