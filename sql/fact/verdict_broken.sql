-- fact.verdict_broken
-- One row for each load cycle said complete that did not reach what its program asks.
-- key: cycle_id
--
-- is_rejected   the log itself says that the load was not released
-- broken, broken_by, judged_from, limits_from   as in judge.cycle
SELECT
    judged.cycle_id,
    cycle.unit_serial,
    cycle.site_id,
    cycle.cycle_number,
    cycle.started_local,
    cycle.started_on,
    cycle.program,
    judged.broken,
    judged.broken_by,
    judged.judged_from,
    judged.limits_from,
    cycle.load_id,
    cycle.load_kind,
    cycle.chemical_indicator,
    cycle.released,
    coalesce(cycle.released = 'no', false) AS is_rejected,
    cycle.file_id,
    cycle.line,
FROM judge.cycle AS judged
JOIN model.cycle AS cycle USING (cycle_id)
WHERE judged.verdict = 'breaks'
    AND judged.outcome = 'complete'
    AND judged.is_load_cycle
    AND judged.started_on >= $history_on
    AND judged.started_on <= $as_of_on
