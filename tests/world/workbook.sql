-- What the cells of the spreadsheet hold, by queries of the tests' own: one for each sheet, with the
-- columns that name a row first. Columns are called as the keys of workbook.column in words.toml.

-- name: findings
SELECT finding_id, since_on FROM measure.finding;

-- name: sites
WITH cycle AS (
    SELECT site_id, count(*) AS load_cycle_count, count(*) FILTER (is_stopped) AS stop_count,
        count(*) FILTER (is_stopped AND stop_family = 'equipment') AS equipment_stop_count
    FROM model.cycle
    WHERE is_load_cycle AND NOT is_false_start
        AND started_on BETWEEN DATE '2025-11-01' AND DATE '2026-10-31'
    GROUP BY ALL
),
unit AS (
    SELECT site_id, count(*) AS unit_count
    FROM model.unit WHERE from_on <= DATE '2026-10-31' AND coalesce(to_on > DATE '2026-10-31', true)
    GROUP BY ALL
),
silent AS (
    SELECT site_id, count(*) AS silent_count FROM fact.coverage WHERE state = 'not_seen' GROUP BY ALL
),
spore AS (
    SELECT site_id, sum(weeks_on_time)::INT AS weeks_on_time, sum(weeks_in_use)::INT AS weeks_in_use,
        sum((reason = 'overdue')::INT)::INT AS overdue_test_count
    FROM fact.spore_due GROUP BY ALL
),
task AS (
    SELECT site_id, count(*) AS overdue_task_count
    FROM fact.task_due WHERE state NOT IN ('usual', 'too_few', 'not_seen') GROUP BY ALL
)
SELECT site_id, unit_count, coalesce(silent_count, 0) AS silent_count, equipment_stop_count,
    stop_count, load_cycle_count, likely_low AS likely_low_share, likely_high AS likely_high_share,
    position_low, position_high, weeks_on_time, weeks_in_use, overdue_test_count,
    coalesce(overdue_task_count, 0) AS overdue_task_count
FROM unit LEFT JOIN cycle USING (site_id) LEFT JOIN silent USING (site_id)
LEFT JOIN spore USING (site_id) LEFT JOIN task USING (site_id)
LEFT JOIN measure.ranking ON measure = 'stopped_equipment' AND level = 'site' AND subject_id = site_id;

-- name: units
WITH cycle AS (
    SELECT unit_serial, count(*) AS load_cycle_count, count(*) FILTER (is_stopped) AS stop_count,
        count(*) FILTER (is_stopped AND stop_family = 'equipment') AS equipment_stop_count
    FROM model.cycle
    WHERE is_load_cycle AND NOT is_false_start
        AND started_on BETWEEN DATE '2025-11-01' AND DATE '2026-10-31'
    GROUP BY ALL
)
SELECT unit_serial, from_on, coalesce(equipment_stop_count, 0) AS equipment_stop_count,
    coalesce(stop_count, 0) AS stop_count, coalesce(load_cycle_count, 0) AS load_cycle_count,
    likely_low AS likely_low_share, likely_high AS likely_high_share, position_low, position_high,
    last_valid_on, due_on, days_overdue, cycles_while_overdue, weeks_on_time, weeks_in_use, heard_on,
    missing_count
FROM model.unit LEFT JOIN cycle USING (unit_serial)
LEFT JOIN measure.ranking ON measure = 'stopped_equipment' AND level = 'unit' AND subject_id = unit_serial
LEFT JOIN (SELECT * EXCLUDE site_id FROM fact.spore_due) USING (unit_serial)
LEFT JOIN (SELECT unit_serial, heard_on, missing_count FROM fact.coverage) USING (unit_serial)
WHERE from_on <= DATE '2026-10-31' AND coalesce(to_on > DATE '2026-10-31', true);

-- name: tests
SELECT content_sha AS content_sha256, line, exposed_on, read_on
FROM model.test JOIN stage.file USING (file_id)
WHERE exposed_on BETWEEN DATE '2025-11-01' AND DATE '2026-10-31';

-- name: tasks
SELECT unit_serial, task, last_done_on, due_on, days_overdue, cycles_overdue, days_since, allowed_days,
    cycles_since, allowed_cycles, used_share
FROM fact.task_due;
