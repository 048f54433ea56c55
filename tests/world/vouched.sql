-- Where numbers on pages may come from: queries of the tests' own, each under its name.
-- Each gives what may be printed of a unit (unit_serial, site_id), of a site alone, or of the
-- network (neither). Counts are summed for sites, regions and the network.

-- name: unit
SELECT unit_serial, site_id, from_on, to_on FROM model.unit;

-- name: site
SELECT unit_serial, site_id, opened_on, altitude_m
FROM model.site
JOIN model.unit USING (site_id);

-- name: state
SELECT unit_serial, site_id, coalesce(known.state, 'not_seen') AS state
FROM fact.coverage
LEFT JOIN measure.state AS known ON level = 'unit' AND subject_id = unit_serial;

-- name: coverage
SELECT *, cycle_count + missing_count AS ran_count FROM fact.coverage;

-- name: recent
FROM measure.recent;

-- name: spore_due
FROM fact.spore_due;

-- name: overdue
FROM fact.spore_due WHERE reason = 'overdue';

-- name: awaited
SELECT * FROM fact.spore_test WHERE state = 'pending';

-- name: spore_week
SELECT unit_serial, site_id, week_on, state FROM fact.spore_week;

-- name: unseen_week
SELECT unit_serial, site_id, 53 - count(*) FILTER (state <> 'not_seen') AS a_count
FROM fact.spore_week
GROUP BY ALL;

-- name: spore_test
SELECT unit_serial, site_id, exposed_local, read_local, read_on, exposed_on, line, state,
    left(content_sha, 12) AS file
FROM model.test
JOIN (SELECT file_id, content_sha FROM stage.file) USING (file_id)
WHERE kind = 'biological' AND exposed_on BETWEEN DATE '2025-11-01' AND DATE '2026-10-31';

-- name: routine
FROM fact.routine_standing;

-- name: task_due
FROM fact.task_due;

-- name: late_task
SELECT unit_serial, site_id, reason FROM fact.task_due WHERE state IN ('act_now', 'look_into');

-- name: late
SELECT unit_serial, site_id, days_overdue
FROM fact.task_due
WHERE days_overdue > 0
UNION ALL SELECT unit_serial, site_id, days_overdue
FROM fact.spore_due
WHERE days_overdue > 0;

-- name: certificate
FROM fact.certificate;

-- name: certificate_month
SELECT site_id, date_trunc('month', expires_on)::DATE AS expires_on, task, count(*) AS a_count
FROM fact.certificate
GROUP BY CUBE (site_id, task), 2;

-- name: interval
SELECT * FROM fact.task_interval WHERE ended_on BETWEEN DATE '2025-11-01' AND DATE '2026-10-31';

-- name: book
SELECT *
FROM fact.task_book
JOIN (SELECT unit_serial, site_id
FROM model.unit) USING (unit_serial);

-- name: act
SELECT unit_serial, site_id, done_on, counter, line, task, left(content_sha, 12) AS file
FROM model.task
JOIN (SELECT file_id, content_sha FROM stage.file) USING (file_id)
WHERE done_on BETWEEN DATE '2025-11-01' AND DATE '2026-10-31';

-- name: drift
SELECT *, latest / 60 AS b, baseline_low / 60 AS c, baseline_high / 60 AS d, slope_per_month /
    60 AS e, slope_low / 60 AS f, slope_high / 60 AS g
FROM measure.drift;

-- name: drifting
SELECT unit_serial, site_id
FROM measure.drift
WHERE state IN ('act_now', 'look_into')
GROUP BY ALL;

-- name: wear
SELECT unit_serial, site_id, feature, program, count(*) AS a_count, last(middle ORDER BY
    week_on) AS b, last(middle ORDER BY week_on) / 60 AS c,
FROM fact.wear_week
JOIN (SELECT unit_serial, site_id
FROM model.unit) USING (unit_serial)
GROUP BY ALL;

-- name: habit
FROM measure.habit;

-- name: site_habit
FROM measure.site_habit;

-- name: repair
FROM measure.repair;

-- name: watch
FROM measure.watch WHERE is_listed;

-- name: watch_skill
FROM measure.watch_skill;

-- name: watch_band
FROM measure.watch_band;

-- name: stop_week
SELECT unit_serial, site_id, week_on FROM fact.stop_week WHERE run_count > 0;

-- name: ranked
SELECT measure, count(*) AS a_count
FROM measure.ranking
WHERE level = 'unit' AND is_ranked
GROUP BY ALL;

-- name: every_ranking
FROM measure.ranking;

-- name: catalogue
SELECT target, minimum FROM measure.catalogue;

-- name: period
FROM measure.stop_period;

-- name: reason
SELECT * EXCLUDE (stop_family) FROM fact.stop_reason;

-- name: judged
SELECT unit_serial, site_id, sum(cycle_count) AS finished_count, sum(cycle_count) FILTER
    (verdict = 'meets') AS meets_count, sum(cycle_count) FILTER (verdict = 'breaks') AS
    breaks_count, sum(cycle_count) FILTER (verdict = 'cannot_tell') AS cannot_tell_count,
    sum(cycle_count) FILTER (judged_from = 'readings') AS readings_count, sum(cycle_count)
    FILTER (judged_from = 'logged') AS logged_count,
FROM fact.verdict
JOIN (SELECT unit_serial, site_id
FROM model.unit) USING (unit_serial)
GROUP BY ALL;

-- name: judged_program
SELECT unit_serial, site_id, program, sum(cycle_count)::INT AS finished_count,
    sum(if(verdict = 'meets', cycle_count, 0))::INT AS meets_count,
    sum(if(verdict = 'breaks', cycle_count, 0))::INT AS breaks_count,
    sum(if(verdict = 'cannot_tell', cycle_count, 0))::INT AS cannot_tell_count,
    sum(if(judged_from = 'readings', cycle_count, 0))::INT AS readings_count,
    sum(if(judged_from = 'logged', cycle_count, 0))::INT AS logged_count
FROM fact.verdict
JOIN (SELECT unit_serial, site_id FROM model.unit) USING (unit_serial)
GROUP BY ALL;

-- name: verdict
SELECT verdict.*, site_id
FROM fact.verdict
JOIN (SELECT unit_serial, site_id
FROM model.unit) USING (unit_serial);

-- name: broken
FROM fact.verdict_broken;

-- name: incident
FROM fact.incident;

-- name: step
FROM fact.incident_step;

-- name: lookback
SELECT * EXCLUDE (started_utc) FROM fact.lookback;

-- name: finding
SELECT *, DATE '2026-10-31' - since_on AS a_days, DATE '2026-11-01' - since_on AS b_days
FROM measure.finding;

-- name: past_finding
SELECT *, DATE '2026-10-31' - since_on AS a_days FROM past.finding;

-- name: new_finding
FROM measure.finding ANTI JOIN past.finding USING (finding_id);

-- name: kept_finding
FROM measure.finding SEMI JOIN past.finding USING (finding_id);

-- name: gone_finding
FROM past.finding ANTI JOIN measure.finding USING (finding_id);

-- name: urgent
SELECT unit_serial, site_id, state, owner FROM measure.finding;

-- name: stopped
SELECT unit_serial, site_id, cycle_number, started_local, line, left(content_sha, 12) AS file
FROM model.cycle
JOIN (SELECT file_id, content_sha FROM stage.file) USING (file_id)
WHERE is_stopped AND started_on BETWEEN DATE '2025-11-01' AND DATE '2026-10-31';

-- name: line
SELECT unit_serial, site_id, line, told_at, left(content_sha, 12) AS file
FROM (SELECT unit_serial, site_id, line, file_id, started_local AS told_at
FROM model.cycle
UNION ALL SELECT unit_serial, site_id, line, file_id, coalesce(exposed_local, exposed_on)
FROM model.test
UNION ALL SELECT unit_serial, site_id, line, file_id, done_on
FROM model.task)
JOIN (SELECT file_id, content_sha FROM stage.file) USING (file_id);

-- name: trace
SELECT c.unit_serial, c.site_id, c.cycle_number, c.started_local, c.line, c.hold_seconds / 60 AS
    a, j.shown_seconds / 60 AS b, j.needed_seconds / 60 AS d, c.set_celsius,
    j.saturation_kelvin, j.f0_minutes, j.f0_celsius, j.f0_kelvin, j.step_seconds,
    j.shown_seconds, j.needed_seconds, j.hold_min_celsius, j.row_celsius, j.needed_seconds -
    j.shown_seconds AS e, j.needed_seconds - c.hold_seconds AS f, j.broken_by, j.low_celsius -
    j.hold_max_celsius AS g, j.low_celsius - c.hold_max_celsius AS h
FROM model.cycle AS c
JOIN judge.cycle AS j USING (cycle_id)
WHERE c.started_on BETWEEN DATE '2025-11-01' AND DATE '2026-10-31' AND (j.reading_count > 0 OR
    j.verdict <> 'meets');

-- name: trace_count
SELECT unit_serial, site_id, count(*) AS a_count, count(*) - 1 AS b_count, count(*) - 4 AS
    c_count
FROM judge.cycle
JOIN (SELECT unit_serial, site_id
FROM model.unit) USING (unit_serial)
WHERE reading_count > 0
GROUP BY ALL;

-- name: file
SELECT unit_serial, site_id, left(content_sha, 12) AS file, count(*) AS a_count,
    min(line) AS b, max(line) AS c
FROM (SELECT unit_serial, site_id, file_id, line
FROM model.cycle
UNION ALL SELECT unit_serial, site_id, file_id, line
FROM model.test
UNION ALL SELECT unit_serial, site_id, file_id, line
FROM model.task)
JOIN (SELECT file_id, content_sha FROM stage.file) USING (file_id)
GROUP BY ALL;

-- name: file_total
SELECT unit_serial, site_id, count(DISTINCT file_id) AS a_count, count(*) AS b_count,
    count(DISTINCT file_id) - 12 AS c_count
FROM (SELECT unit_serial, site_id, file_id
FROM model.cycle
WHERE started_on BETWEEN DATE '2025-11-01' AND DATE '2026-10-31'
UNION ALL SELECT unit_serial, site_id, file_id
FROM model.test
WHERE coalesce(exposed_on, read_on) BETWEEN DATE '2025-11-01' AND DATE '2026-10-31'
UNION ALL SELECT unit_serial, site_id, file_id
FROM model.task
WHERE done_on BETWEEN DATE '2025-11-01' AND DATE '2026-10-31' )
GROUP BY ALL;

-- name: balance
SELECT site_id, feed, sum(read_count) AS read_count, sum(used_count) AS used_count,
    sum(held_count) AS held_count, sum(duplicate_count) AS duplicate_count, count(*) AS
    file_count, sum(line_count) AS line_count, sum(layout_count) AS layout_count, count(*)
    FILTER (file.state <> 'read') AS aside_count,
FROM stage.file
LEFT JOIN (SELECT * EXCLUDE read_count
FROM model.balance) USING (file_id)
GROUP BY CUBE (site_id, feed);

-- name: balance_file
SELECT site_id, file_id, sum(read_count) AS read_count, sum(used_count) AS used_count,
    sum(held_count) AS held_count, sum(duplicate_count) AS duplicate_count, count(*) AS
    file_count, sum(line_count) AS line_count, sum(layout_count) AS layout_count, count(*)
    FILTER (file.state <> 'read') AS aside_count,
FROM stage.file
LEFT JOIN (SELECT * EXCLUDE read_count
FROM model.balance) USING (file_id)
GROUP BY ALL;

-- name: balance_total
SELECT site_id, sum(read_count) AS read_count, sum(used_count) AS used_count, sum(held_count) AS
    held_count, sum(duplicate_count) AS duplicate_count, count(*) AS file_count, sum(line_count)
    AS line_count, sum(layout_count) AS layout_count, count(*) FILTER (file.state <> 'read') AS
    aside_count,
FROM stage.file
LEFT JOIN (SELECT * EXCLUDE read_count
FROM model.balance) USING (file_id)
GROUP BY ALL;

-- name: held
SELECT site_id, line, message FROM stage.held JOIN stage.file USING (file_id);

-- name: held_total
SELECT site_id, count(DISTINCT (file_id, line)) AS a_count, count(*) AS b_count, count(*) - 50
    AS c_count, count(*) - 200 AS d_count, count(DISTINCT (file_id, line)) - 50 AS e_count
FROM stage.held
JOIN stage.file USING (file_id)
GROUP BY ALL;

-- name: check
SELECT *, 0 AS zero FROM model.check;

-- name: checks
SELECT verdict, count(*) AS a_count FROM model.check GROUP BY CUBE (verdict);

-- name: echo
FROM fact.verdict_echo JOIN (SELECT unit_serial, site_id FROM model.unit) USING (unit_serial);

-- name: repeat
FROM fact.verdict_repeat JOIN (SELECT unit_serial, site_id FROM model.unit) USING (unit_serial);

-- name: orphan
SELECT t.unit_serial, t.site_id, t.cycle_number, t.exposed_on, t.line, c.cycle_number AS ran
FROM model.test AS t
LEFT JOIN model.cycle AS c ON c.unit_serial = t.unit_serial AND c.started_on = t.exposed_on
WHERE t.kind = 'biological';

-- name: practice
SELECT days, cycles, grace_days
FROM practice.task_rule
UNION ALL SELECT days, cycles, result_days
FROM practice.spore_rule;

-- name: program
SELECT celsius, hold_seconds / 60 AS a, drying_seconds / 60 AS b FROM judge.program;

-- name: profile
SELECT reviewed_on, lower_edge, band_kelvin, spread_kelvin, saturation_kelvin,
    leak_kpa_per_minute
FROM judge.profile
UNION ALL BY NAME SELECT reviewed_on
FROM practice.profile;

-- name: figure
FROM judge.figure;

-- name: funnel
SELECT DISTINCT unit_serial, site_id, 100 * between_share AS points, widening, dispersion
FROM measure.funnel, model.unit;

-- name: reviewed
SELECT unit_serial, site_id, reviewed_on FROM judge.profile, model.unit;

-- name: shown
SELECT unit_serial, site_id, 10 AS first_rows, 12 AS latest_rows FROM model.unit;

-- name: days
SELECT unit_serial, site_id, DATE '2026-10-31' AS a, DATE '2026-11-14' AS b, DATE '2026-09-30'
    AS c
FROM model.unit;

-- name: month
SELECT
    unit_serial,
    site_id,
    count(*) AS run_count,
    count(*) FILTER (is_stopped) AS stopped_count,
FROM model.cycle
WHERE month = DATE '2026-10-01' AND is_load_cycle AND NOT is_false_start
GROUP BY ALL;

-- name: balance_feed
SELECT site_id, site_name, feed, sum(read_count) AS read_count, sum(used_count) AS used_count,
    sum(held_count) AS held_count, sum(duplicate_count) AS duplicate_count, count(*) AS file_count,
    count(*) FILTER (state <> 'read') AS aside_count
FROM stage.file
LEFT JOIN (SELECT * EXCLUDE read_count FROM model.balance) USING (file_id)
JOIN (SELECT site_id, name AS site_name FROM model.site) USING (site_id)
GROUP BY ALL;

-- name: reason_of_unit
SELECT site_id, label, stop_reason, coalesce(stopped_count, 0) AS stopped_count
FROM model.unit AS unit
JOIN (SELECT DISTINCT site_id, stop_reason FROM fact.stop_reason) USING (site_id)
LEFT JOIN (SELECT unit_serial, site_id, stop_reason, stopped_count FROM fact.stop_reason)
    USING (unit_serial, site_id, stop_reason);

-- name: reason_of_site
SELECT site_id, stop_reason, sum(stopped_count)::INT AS stopped_count
FROM fact.stop_reason
GROUP BY ALL;

-- name: to_do
SELECT unit_serial, count(*) FILTER (what = 'task') AS task_count,
    least(count(*) FILTER (what = 'value'), 1) AS drifting_count
FROM (SELECT unit_serial, 'task' AS what, state
FROM fact.task_due
UNION ALL SELECT unit_serial, 'value', state
FROM measure.drift
UNION ALL SELECT unit_serial, 'none', 'act_now'
FROM model.unit)
WHERE state IN ('act_now', 'look_into')
GROUP BY ALL;

-- name: due
SELECT unit_serial, site_id, task AS what, due_on
FROM fact.task_due
UNION ALL SELECT unit_serial, site_id, NULL, due_on
FROM fact.spore_due;

-- name: rate
SELECT if(level = 'unit', subject_id, NULL) AS unit_serial,
    if(level = 'site', subject_id, NULL) AS site_id, * EXCLUDE (level, subject_id)
FROM measure.ranking
WHERE measure = 'stopped_equipment';

-- name: no_reason
SELECT if(level = 'unit', subject_id, NULL) AS unit_serial,
    if(level = 'site', subject_id, NULL) AS site_id, numerator, denominator
FROM measure.ranking
WHERE measure = 'stopped_unknown';

-- name: every_stop
SELECT if(level = 'unit', subject_id, NULL) AS unit_serial,
    if(level = 'site', subject_id, NULL) AS site_id, numerator, denominator
FROM measure.ranking
WHERE measure = 'stopped_all';

-- name: week_run
SELECT unit_serial, NULL AS site_id, count(*) AS a_count
FROM fact.stop_week
WHERE run_count > 0
GROUP BY ALL
UNION ALL SELECT NULL, site_id, count(DISTINCT week_on)
FROM fact.stop_week
WHERE run_count > 0
GROUP BY ALL;

-- name: panel
SELECT unit_serial, title, count(*) AS a_count, last(middle ORDER BY week_on) AS b,
    last(middle ORDER BY week_on) / 60 AS c, any_value(baseline_low) AS d,
    any_value(baseline_high) AS e, any_value(baseline_low) / 60 AS f,
    any_value(baseline_high) / 60 AS g
FROM fact.wear_week
JOIN (SELECT feature, title FROM measure.feature) USING (feature)
LEFT JOIN (SELECT unit_serial, program, feature, baseline_low, baseline_high FROM measure.drift)
    USING (unit_serial, program, feature)
GROUP BY unit_serial, program, feature, title;


-- name: recent_each
SELECT unit_serial, NULL AS site_id, stopped_count, run_count, expected_count
FROM measure.recent
UNION ALL SELECT NULL, site_id, sum(stopped_count)::INT, sum(run_count)::INT, sum(expected_count)
FROM measure.recent
GROUP BY site_id;

-- name: site_count
SELECT site_id, (SELECT count(*)
FROM fact.spore_due AS due
WHERE due.site_id = site.site_id AND days_overdue > 0) AS overdue_count, (SELECT
    max(days_overdue)
FROM fact.spore_due AS due
WHERE due.site_id = site.site_id) AS longest_days, (SELECT count(*)
FROM fact.task_due AS due
WHERE due.site_id = site.site_id AND state IN ('act_now', 'look_into')) AS task_count, (SELECT
    count(DISTINCT unit_serial)
FROM measure.drift AS drift
WHERE drift.site_id = site.site_id AND state IN ('act_now', 'look_into')) AS drifting_count,
    (SELECT count(*)
FROM measure.habit AS habit
WHERE habit.site_id = site.site_id AND state IN ('act_now', 'look_into')) AS later_count,
    (SELECT count(*)
FROM fact.coverage AS coverage
WHERE coverage.site_id = site.site_id) AS unit_count, (SELECT sum(weeks_on_time)::INT
FROM fact.spore_due AS due
WHERE due.site_id = site.site_id) AS weeks_on_time, (SELECT sum(weeks_in_use)::INT
FROM fact.spore_due AS due
WHERE due.site_id = site.site_id) AS weeks_in_use
FROM model.site AS site;

-- name: period_count
SELECT unit_serial, count(*) FILTER (run_count > 0) AS a_count, count(*) FILTER (is_above) AS
    above_count, last(usual_share ORDER BY period_on) AS usual_share, 12 AS shown_count, (SELECT
    count(*)
FROM model.cycle
WHERE cycle.unit_serial = period.unit_serial AND is_stopped AND is_load_cycle AND started_on
    BETWEEN DATE '2025-11-01' AND DATE '2026-10-31') AS cycle_count, sum(stopped_count)::INT AS
    lately_count
FROM measure.stop_period AS period
GROUP BY unit_serial;

-- name: test_count
SELECT unit_serial, count(*) AS a_count, 12 AS week_count
FROM model.test
WHERE kind = 'biological' AND exposed_on BETWEEN DATE '2025-11-01' AND DATE '2026-10-31'
GROUP BY unit_serial;

-- name: task_count
SELECT unit_serial, count(*) AS a_count, 12 AS shown_count, count(*) FILTER (state IN
    ('act_now', 'look_into')) AS late_count, (SELECT count(*)
FROM model.task
WHERE task.unit_serial = due.unit_serial) AS act_count
FROM fact.task_due AS due
GROUP BY unit_serial;

-- name: balance_all
SELECT NULL AS site_id, feed, sum(read_count) AS read_count, sum(used_count) AS used_count,
    sum(held_count) AS held_count, sum(duplicate_count) AS duplicate_count, count(*) AS file_count,
    count(*) FILTER (state <> 'read') AS aside_count
FROM stage.file
LEFT JOIN (SELECT * EXCLUDE read_count FROM model.balance) USING (file_id)
GROUP BY ALL;

-- name: reason_share
SELECT unit_serial, stop_reason, stopped_count,
    sum(stopped_count) OVER (PARTITION BY unit_serial)::INT AS total_count
FROM fact.stop_reason;
