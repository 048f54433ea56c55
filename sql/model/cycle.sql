-- model.cycle
-- One row for each started run of a unit: copies counted once, corrections settled.
-- key: cycle_id
-- rebuilt by: unit_serial, month
--
-- cycle_id            serial, counter and start; the counter alone repeats when a board is changed
-- cycle_number        the unit's counter, from whichever copy has it
-- site_id             where the unit stood on that day; the sender's site when no assignment covers it
-- is_load_cycle       meant to sterilize a load
-- is_false_start      stopped within 60 s; left out of rates and counted apart
-- started_on          day of the start, by the unit's clock
-- week_on             Monday of that day's ISO week
-- is_stopped          ended before complete, whatever the reason
-- stop_family         operator, equipment, utility, not_known; null when not stopped
-- duration_seconds    between the instants; null without an end
-- copy_count          lines that report this cycle
-- other_copies        file_id and line of the others, most believed first; null when there are none
-- is_corrected        the copies differ in outcome, reason or program; the later file was believed
-- after_file_minutes  by how much it starts later than its file was written, which no true clock
--                     does; null when it does not
-- file_id, line       the copy that was used
WITH near AS (
    SELECT *, NULL::DATE AS other_month,
    FROM stage.cycle
    SEMI JOIN build.touched USING (unit_serial, month)
    UNION ALL
    -- Copies of one cycle may lie on both sides of a month's end.
    SELECT edge.*,
    FROM (
        SELECT
            *,
            CASE
                WHEN day(started_local) = 1 THEN month - INTERVAL 1 MONTH
                WHEN month <> date_trunc('month', started_local + INTERVAL 1 DAY)
                    THEN month + INTERVAL 1 MONTH
            END::DATE AS other_month,
        FROM stage.cycle
        SEMI JOIN (
            SELECT unit_serial, (month + to_months(step))::DATE AS month,
            FROM build.touched, (VALUES (-1), (1)) AS beside (step)
        ) AS beside USING (unit_serial, month)
        ANTI JOIN build.touched USING (unit_serial, month)
    ) AS edge
    SEMI JOIN build.touched AS touched
        ON touched.unit_serial = edge.unit_serial AND touched.month = edge.other_month
),
report AS (
    SELECT
        near.* EXCLUDE (other_month),
        coalesce(near.cycle_number, lone_cycle.copy_number) AS copy_number,
        file.modified_utc,
        file.path,
    FROM near
    JOIN stage.file AS file USING (file_id)
    LEFT JOIN model.lone_cycle AS lone_cycle
        ON lone_cycle.file_id = near.file_id AND lone_cycle.line = near.line
),
-- Two reports of one counter value within 12 h are one cycle: exports round their times, and one may
-- be declared in the wrong zone. Farther apart they are two: the counter was set back between them.
spaced AS (
    SELECT
        *,
        coalesce(
            started_utc - lag(started_utc) OVER number_in_time > INTERVAL 12 HOUR,
            false
        ) AS is_after_reset,
    FROM report
    WINDOW number_in_time AS (
        PARTITION BY unit_serial, copy_number
        ORDER BY started_utc, file_id, line
    )
),
numbered AS (
    SELECT
        *,
        sum(is_after_reset::INTEGER) OVER (
            PARTITION BY unit_serial, copy_number
            ORDER BY started_utc, file_id, line
        ) AS segment,
    FROM spaced
),
settled AS (
    SELECT
        * EXCLUDE (cycle_number),
        max(cycle_number) OVER same_cycle AS cycle_number,
        min(started_utc) OVER same_cycle AS first_started_utc,
        count(*) OVER same_cycle AS copy_count,
        count(DISTINCT (outcome, stop_reason, program)) OVER same_cycle > 1 AS is_corrected,
        row_number() OVER (
            same_cycle
            ORDER BY modified_utc DESC, path DESC, file_id DESC, line DESC
        ) AS precedence,
    FROM numbered
    WINDOW same_cycle AS (PARTITION BY unit_serial, copy_number, segment)
),
other AS (
    SELECT
        unit_serial,
        copy_number,
        segment,
        list({file_id: file_id, line: line} ORDER BY precedence) AS other_copies,
    FROM settled
    WHERE precedence > 1
    GROUP BY unit_serial, copy_number, segment
)
SELECT
    concat_ws(
        '-',
        settled.unit_serial,
        coalesce(settled.cycle_number::VARCHAR, 'x'),
        -- Without a number, a false start and its repeat may lie in one minute.
        CASE
            WHEN settled.cycle_number IS NULL
                THEN strftime(settled.first_started_utc, '%Y%m%dT%H%M%S')
            ELSE strftime(settled.first_started_utc, '%Y%m%dT%H%M')
        END
    ) AS cycle_id,
    settled.unit_serial,
    coalesce(assignment.site_id, settled.site_id) AS site_id,
    settled.cycle_number,
    settled.program,
    coalesce(program.is_load_cycle, false) AS is_load_cycle,
    coalesce(
        settled.outcome <> 'complete'
        AND settled.ended_utc - settled.started_utc < INTERVAL 60 SECOND,
        false
    ) AS is_false_start,
    settled.started_local,
    settled.started_utc,
    settled.ended_local,
    settled.ended_utc,
    settled.started_local::DATE AS started_on,
    date_trunc('week', settled.started_local)::DATE AS week_on,
    settled.month,
    settled.outcome,
    settled.outcome <> 'complete' AS is_stopped,
    CASE
        WHEN settled.outcome <> 'complete' THEN coalesce(reason.stop_reason, 'unknown')
    END AS stop_reason,
    CASE
        WHEN settled.outcome <> 'complete' THEN coalesce(reason.stop_family, 'not_known')
    END AS stop_family,
    date_diff('second', settled.started_utc, settled.ended_utc) AS duration_seconds,
    settled.set_celsius,
    settled.hold_seconds,
    settled.hold_min_celsius,
    settled.hold_max_celsius,
    settled.hold_min_kpa,
    settled.hold_max_kpa,
    settled.air_removal_min_kpa,
    settled.heat_up_seconds,
    settled.drying_seconds,
    settled.leak_kpa_per_minute,
    settled.conductivity_us_per_cm,
    settled.load_id,
    settled.load_kind,
    settled.chemical_indicator,
    settled.released,
    settled.operator_code,
    settled.note,
    settled.copy_count,
    settled.is_corrected,
    other.other_copies,
    settled.is_time_doubtful,
    CASE
        WHEN settled.started_utc > settled.modified_utc
            THEN date_diff('second', settled.modified_utc, settled.started_utc) / 60
    END AS after_file_minutes,
    settled.file_id,
    settled.line,
FROM settled
LEFT JOIN other USING (unit_serial, copy_number, segment)
LEFT JOIN model.program AS program USING (program)
LEFT JOIN model.stop_reason AS reason USING (stop_reason)
LEFT JOIN model.assignment AS assignment
    ON assignment.unit_serial = settled.unit_serial
    AND settled.started_local::DATE >= assignment.from_on
    AND (assignment.to_on IS NULL OR settled.started_local::DATE < assignment.to_on)
WHERE settled.precedence = 1
    AND (settled.unit_serial, settled.month) IN (SELECT (unit_serial, month) FROM build.touched)
