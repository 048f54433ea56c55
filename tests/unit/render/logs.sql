-- The staged rows of the small network: what the five units logged.

-- One row a unit: first day, days, cycles a day, every n-th that stops, and of the last 28 days.
CREATE TEMP TABLE plan (
    unit_serial VARCHAR,
    site_id VARCHAR,
    first_on DATE,
    days INTEGER,
    per_day INTEGER,
    stops_every INTEGER,
    late_every INTEGER,
);
INSERT INTO plan VALUES
    ('S-1', 'script', '2025-08-01', 457, 3, 60, 4),
    ('S-2', 'script', '2025-08-01', 457, 2, 80, 80),
    ('F/1', 'formula', '2025-08-01', 457, 2, 50, 50),
    ('F-2', 'formula', '2025-08-01', 380, 2, 70, 70),
    ('Q-1', 'quiet', '2026-10-20', 6, 2, 12, 12),
    ('Q-0', 'quiet', '2025-08-01', 300, 1, 40, 40);

-- The second unit takes longer and longer to heat.
INSERT INTO stage.cycle BY NAME
SELECT
    concat('cycle-', site_id) AS file_id,
    row_number() OVER (PARTITION BY site_id ORDER BY unit_serial, n) + 1 AS line,
    site_id,
    unit_serial,
    1000 + n AS cycle_number,
    'pouch' AS program,
    first_on + to_days((n // per_day)::INT) + to_hours((8 + 3 * (n % per_day))::INT)
        AS started_local,
    strftime(started_local, '%Y-%m-%d %H:%M') AS started_text,
    started_local AS started_utc,
    started_local + INTERVAL 40 MINUTE AS ended_local,
    ended_local AS ended_utc,
    false AS is_time_doubtful,
    CASE
        WHEN n % (CASE WHEN started_local >= TIMESTAMP '2026-10-04' THEN late_every
                  ELSE stops_every END) = 0 THEN 'stopped'
        ELSE 'complete'
    END AS outcome,
    CASE
        WHEN outcome = 'complete' THEN NULL
        WHEN n % 7 = 0 THEN 'operator_stop_in_hold'
        WHEN n % 5 = 0 THEN 'unknown'
        ELSE 'door_leak'
    END AS stop_reason,
    134.0 AS set_celsius,
    -- What each way of removing air needs for wrapped loads.
    CASE WHEN unit_serial IN ('S-1', 'F/1') THEN 240.0 ELSE 900.0 END AS hold_seconds,
    134.4 + (n % 5) / 10 AS hold_min_celsius,
    600 + (n % 7) * 4
        + CASE WHEN unit_serial = 'S-2' AND n > 700 THEN (n - 700) * 1.2 ELSE 0 END
        AS heat_up_seconds,
    CASE WHEN unit_serial <> 'Q-0' THEN 900.0 + (n % 11) END AS drying_seconds,
    concat('L', n) AS load_id,
    date_trunc('month', started_local)::DATE AS month,
FROM plan, range(days * per_day) AS each (n);

-- A test each Monday; some missed, one awaited, two that grew and one of them cleared, none at the silent unit.
INSERT INTO stage.test BY NAME
SELECT
    concat('test-', site_id) AS file_id,
    row_number() OVER (PARTITION BY site_id ORDER BY unit_serial, week) + 1 AS line,
    site_id,
    concat(unit_serial, ' / ', week) AS test_id,
    unit_serial,
    TIMESTAMP '2025-08-04 08:00' + to_days((week * 7)::INT) AS exposed_local,
    strftime(exposed_local, '%Y-%m-%d') AS exposed_text,
    exposed_local AS exposed_utc,
    'biological' AS kind,
    'routine' AS purpose,
    exposed_utc AS incubation_started_utc,
    CASE WHEN NOT (unit_serial = 'S-1' AND week = 64) THEN exposed_utc + INTERVAL 3 DAY END
        AS read_local,
    read_local AS read_utc,
    24.0 AS incubation_hours,
    CASE
        WHEN read_utc IS NULL THEN 'pending'
        WHEN unit_serial = 'F/1' AND (week = 40 OR week >= 63) THEN 'growth'
        ELSE 'no_growth'
    END AS result,
    'growth' AS control_result,
    '<i>lot</i>' AS lot,
    lot AS control_lot,
    DATE '2028-01-01' AS expires_on,
    false AS is_time_doubtful,
    date_trunc('month', exposed_local)::DATE AS month,
FROM plan, range(65) AS each (week)
WHERE exposed_local::DATE >= first_on
    AND exposed_local::DATE < first_on + days::INT
    AND NOT (unit_serial = 'S-2' AND week IN (30, 62, 63, 64));

INSERT INTO stage.task BY NAME
SELECT
    concat('task-', site_id) AS file_id,
    row_number() OVER (PARTITION BY site_id ORDER BY unit_serial, week, task) + 1 AS line,
    site_id,
    unit_serial,
    task,
    first_on + (week * 7)::INT AS done_on,
    1000 + week * per_day * 7 AS counter,
    'user' AS by_role,
    'routine' AS kind,
    date_trunc('month', done_on)::DATE AS month,
FROM plan, range(65) AS each (week), (VALUES ('chamber_clean'), ('door <wipe>')) AS t (task)
WHERE done_on < first_on + days::INT AND site_id <> 'quiet'
    AND NOT (unit_serial = 'S-2' AND week > 50);

-- The last cycle of one unit, sample by sample, with a pause of the log.
INSERT INTO stage.reading BY NAME
SELECT
    'reading-script' AS file_id,
    row_number() OVER (ORDER BY second) + 1 AS line,
    'script' AS site_id,
    'S-1' AS unit_serial,
    1000 + 456 * 3 + 1 AS cycle_number,
    TIMESTAMP '2026-10-31 11:00' AS started_local,
    started_local AS started_utc,
    false AS is_time_doubtful,
    second::DOUBLE AS elapsed_seconds,
    least(134.5, 40 + second / 8.0) AS chamber_celsius,
    least(310.0, 100 + second / 4.0) AS chamber_kpa,
    DATE '2026-10-01' AS month,
FROM range(0, 2400, 5) AS each (second)
WHERE NOT second BETWEEN 1200 AND 1500;

INSERT INTO stage.held VALUES
    ('cycle-formula', 'cycle', 9001, 'STG-03', 'started', '=cmd|<x>', 'not a date: mend it'),
    ('cycle-formula', 'cycle', 9001, 'CYC-02', NULL, NULL, 'no unit: give its serial'),
    (
        'cycle-script', 'cycle', 9002, 'CYC-02', 'unit_serial',
        '<img src=x onerror=alert(1)>', 'no unit: give its serial'
    );

-- Of these tests that were held, the second lies in a week that was tested all the same, the third is about
-- another kind, and the last about a unit that nobody registered.
INSERT INTO stage.held_test VALUES
    ('test-script', 9101, 'S-2', NULL, '2026-10-22'),
    ('test-script', 9102, 'S-2', 'biological', '2026-10-01'),
    ('test-script', 9103, 'S-2', 'leak', '2026-10-22'),
    ('test-script', 9104, 'S-9', 'biological', '2026-10-22');

INSERT INTO stage.check_run VALUES
    ('b', 'cycle', 'CYC-01', 'critical', 'pass', 10, 0, NULL),
    ('b', 'cycle', 'CYC-02', 'critical', 'fail', 10, 2, NULL),
    ('b', 'cycle', 'CYC-03', 'critical', 'error', 10, NULL, 'no column <x>');

-- What each file was read to hold.
UPDATE stage.file
SET read_count = counted.n, line_count = counted.n + 1
FROM (
    SELECT file_id, count(*) AS n
    FROM (
        SELECT file_id, line FROM stage.cycle
        UNION ALL
        SELECT file_id, line FROM stage.test
        UNION ALL
        SELECT file_id, line FROM stage.task
        UNION ALL
        SELECT file_id, line FROM stage.reading
        UNION ALL
        SELECT DISTINCT file_id, line FROM stage.held
    )
    GROUP BY file_id
) AS counted
WHERE counted.file_id = stage.file.file_id;
