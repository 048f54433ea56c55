-- model.cycle
-- One row for each started run of a unit: copies counted once, corrections settled.
-- key: cycle_id
-- rebuilt by: unit_serial, month
--
-- cycle_id            serial, counter and start; the counter alone repeats when a board is changed
-- site_id             where the unit stood on that day; the sender's site when no assignment covers it
-- is_load_cycle       meant to sterilize a load
-- is_false_start      stopped within 60 s; left out of rates and counted apart
-- started_on          day of the start, by the unit's clock
-- week_on             Monday of that day's ISO week
-- is_stopped          ended before complete, whatever the reason
-- stop_family         operator, equipment, utility, not_known; null when not stopped
-- duration_seconds    between the instants; null without an end
-- copy_count          lines that report this cycle
-- is_corrected        the copies differ in outcome, reason or program; the later file was believed
-- file_id, line       the copy that was used
WITH report AS (
    SELECT
        staged.*,
        file.modified_utc,
        file.path,
        -- Two reports of one counter value within 12 h are one cycle: exports round their times.
        -- Farther apart they are two, because the counter was set back between them.
        coalesce(
            started_utc - lag(started_utc) OVER number_in_time > INTERVAL 12 HOUR,
            false
        ) AS is_after_reset,
    FROM stage.cycle AS staged
    SEMI JOIN build.touched USING (unit_serial, month)
    JOIN stage.file AS file USING (file_id)
    WINDOW number_in_time AS (
        PARTITION BY unit_serial, month, coalesce(cycle_number, -epoch(started_utc)::BIGINT)
        ORDER BY started_utc, file_id, line
    )
),
numbered AS (
    SELECT
        *,
        sum(is_after_reset::INTEGER) OVER (
            PARTITION BY unit_serial, month, coalesce(cycle_number, -epoch(started_utc)::BIGINT)
            ORDER BY started_utc, file_id, line
        ) AS segment,
    FROM report
),
settled AS (
    SELECT
        *,
        min(started_utc) OVER same_cycle AS first_started_utc,
        count(*) OVER same_cycle AS copy_count,
        count(DISTINCT (outcome, stop_reason, program)) OVER same_cycle > 1 AS is_corrected,
        row_number() OVER (
            same_cycle
            ORDER BY modified_utc DESC, path DESC, file_id DESC, line DESC
        ) AS precedence,
    FROM numbered
    WINDOW same_cycle AS (
        PARTITION BY
            unit_serial,
            month,
            coalesce(cycle_number, -epoch(started_utc)::BIGINT),
            segment
    )
)
SELECT
    concat_ws(
        '-',
        settled.unit_serial,
        coalesce(settled.cycle_number::VARCHAR, 'x'),
        strftime(settled.first_started_utc, '%Y%m%dT%H%M')
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
    settled.is_time_doubtful,
    settled.file_id,
    settled.line,
FROM settled
LEFT JOIN model.program AS program USING (program)
LEFT JOIN model.stop_reason AS reason USING (stop_reason)
LEFT JOIN model.assignment AS assignment
    ON assignment.unit_serial = settled.unit_serial
    AND settled.started_local::DATE >= assignment.from_on
    AND (assignment.to_on IS NULL OR settled.started_local::DATE < assignment.to_on)
WHERE settled.precedence = 1
