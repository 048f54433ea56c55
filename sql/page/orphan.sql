-- page.orphan
-- One row for each spore test of the twelve months that no cycle bears out, latest first.
-- key: unit_serial, test_id
--
-- near_number   the unit's load cycle that began within two hours of the exposure, and may be meant
WITH orphan AS (
    SELECT *,
    FROM model.test
    WHERE orphan_reason IS NOT NULL AND exposed_on >= $from_on AND exposed_on < $to_on
),
near AS (
    SELECT
        orphan.unit_serial,
        orphan.test_id,
        arg_min(
            cycle.cycle_number,
            (abs(epoch(cycle.started_utc - orphan.exposed_utc)), cycle.cycle_id)
        ) AS near_number,
    FROM orphan
    JOIN model.cycle AS cycle
        ON cycle.unit_serial = orphan.unit_serial
        AND cycle.started_on = orphan.exposed_on
        AND cycle.is_load_cycle
        AND abs(epoch(cycle.started_utc - orphan.exposed_utc)) <= 7200
    GROUP BY orphan.unit_serial, orphan.test_id
)
SELECT
    orphan.unit_serial,
    orphan.site_id,
    orphan.test_id,
    orphan.exposed_on,
    orphan.cycle_number,
    orphan.orphan_reason,
    orphan.is_orphan,
    orphan.state,
    near.near_number,
    file.path,
    orphan.line,
FROM orphan
JOIN stage.file AS file USING (file_id)
LEFT JOIN near USING (unit_serial, test_id)
ORDER BY orphan.is_orphan NULLS LAST, orphan.exposed_on DESC, orphan.unit_serial, orphan.test_id
