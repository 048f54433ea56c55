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
-- ambient_kpa         air pressure that was added to gauge readings of the copy that was used; null when
--                     there were none
-- copy_count          lines that report this cycle
-- other_copies        file_id and line of the others, most believed first; null when there are none
-- is_corrected        the copies differ in outcome, reason or program; the later file was believed
-- after_file_minutes  by how much it starts later than its file was written, which no true clock
--                     does; null when it does not
-- file_id, line       the copy that was used
WITH report AS (
    SELECT
        staged.unit_serial,
        coalesce(staged.cycle_number, lone.copy_number) AS copy_number,
        staged.cycle_number,
        staged.started_utc,
        staged.outcome,
        staged.stop_reason,
        staged.program,
        staged.file_id,
        staged.line,
    FROM stage.cycle AS staged
    JOIN build.near AS near
        ON near.unit_serial = staged.unit_serial
        AND near.month = staged.month
        AND staged.started_local >= near.from_local
        AND staged.started_local < near.until_local
    LEFT JOIN (
        SELECT file_id, line, copy_number,
        FROM model.lone_cycle
        SEMI JOIN build.near USING (unit_serial, month)
    ) AS lone
        ON lone.file_id = staged.file_id AND lone.line = staged.line
),
-- Most cycles are told once; only what is told again has to be settled.
copied AS (
    SELECT unit_serial, copy_number,
    FROM report
    GROUP BY unit_serial, copy_number
    HAVING count(*) > 1
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
    SEMI JOIN copied USING (unit_serial, copy_number)
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
        max(numbered.cycle_number) AS cycle_number,
        min(numbered.started_utc) AS first_started_utc,
        count(*) AS copy_count,
        count(DISTINCT (numbered.outcome, numbered.stop_reason, numbered.program)) > 1
            AS is_corrected,
        list(
            {file_id: numbered.file_id, line: numbered.line}
            ORDER BY
                file.modified_utc DESC,
                file.path DESC,
                numbered.file_id DESC,
                numbered.line DESC
        ) AS copies,
    FROM numbered
    JOIN stage.file AS file USING (file_id)
    GROUP BY numbered.unit_serial, numbered.copy_number, numbered.segment
),
copy AS (
    SELECT
        * EXCLUDE (copies),
        nullif(copies[2:], []) AS other_copies,
        unnest(copies[1], recursive := true),
    FROM settled
),
-- Without the list itself: a line told 100,000 times would write it as often.
outranked AS (
    SELECT unnest(copies[2:], recursive := true) FROM settled
),
believed AS (
    SELECT
        staged.* EXCLUDE (cycle_number),
        coalesce(copy.cycle_number, staged.cycle_number) AS cycle_number,
        coalesce(copy.first_started_utc, staged.started_utc) AS first_started_utc,
        coalesce(copy.copy_count, 1) AS copy_count,
        coalesce(copy.is_corrected, false) AS is_corrected,
        copy.other_copies,
        file.modified_utc,
    FROM stage.cycle AS staged
    SEMI JOIN build.portion USING (unit_serial, month)
    ANTI JOIN outranked USING (file_id, line)
    LEFT JOIN copy USING (file_id, line)
    JOIN stage.file AS file USING (file_id)
)
SELECT
    concat_ws(
        '-',
        believed.unit_serial,
        coalesce(believed.cycle_number::VARCHAR, 'x'),
        -- Without a number, a false start and its repeat may lie in one minute.
        CASE
            WHEN believed.cycle_number IS NULL
                THEN strftime(believed.first_started_utc, '%Y%m%dT%H%M%S')
            ELSE strftime(believed.first_started_utc, '%Y%m%dT%H%M')
        END
    ) AS cycle_id,
    believed.unit_serial,
    coalesce(assignment.site_id, believed.site_id) AS site_id,
    believed.cycle_number,
    believed.program,
    coalesce(program.is_load_cycle, false) AS is_load_cycle,
    coalesce(
        believed.outcome <> 'complete'
        AND believed.ended_utc - believed.started_utc < INTERVAL 60 SECOND,
        false
    ) AS is_false_start,
    believed.started_local,
    believed.started_utc,
    believed.ended_local,
    believed.ended_utc,
    believed.started_local::DATE AS started_on,
    date_trunc('week', believed.started_local)::DATE AS week_on,
    believed.month,
    believed.outcome,
    believed.outcome <> 'complete' AS is_stopped,
    CASE
        WHEN believed.outcome <> 'complete' THEN coalesce(reason.stop_reason, 'unknown')
    END AS stop_reason,
    CASE
        WHEN believed.outcome <> 'complete' THEN coalesce(reason.stop_family, 'not_known')
    END AS stop_family,
    date_diff('second', believed.started_utc, believed.ended_utc) AS duration_seconds,
    believed.set_celsius,
    believed.hold_seconds,
    believed.hold_min_celsius,
    believed.hold_max_celsius,
    believed.hold_min_kpa,
    believed.hold_max_kpa,
    believed.ambient_kpa,
    believed.air_removal_min_kpa,
    believed.heat_up_seconds,
    believed.drying_seconds,
    believed.leak_kpa_per_minute,
    believed.conductivity_us_per_cm,
    believed.load_id,
    believed.load_kind,
    believed.chemical_indicator,
    believed.released,
    believed.operator_code,
    believed.note,
    believed.copy_count,
    believed.is_corrected,
    believed.other_copies,
    believed.is_time_doubtful,
    CASE
        WHEN believed.started_utc > believed.modified_utc
            THEN date_diff('second', believed.modified_utc, believed.started_utc) / 60
    END AS after_file_minutes,
    believed.file_id,
    believed.line,
FROM believed
LEFT JOIN model.program AS program USING (program)
LEFT JOIN model.stop_reason AS reason USING (stop_reason)
LEFT JOIN model.assignment AS assignment
    ON assignment.unit_serial = believed.unit_serial
    AND believed.started_local::DATE >= assignment.from_on
    AND (assignment.to_on IS NULL OR believed.started_local::DATE < assignment.to_on)
