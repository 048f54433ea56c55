-- model.lone_cycle
-- One row for each line that reports a cycle without the unit's counter: the number that stands for it.
-- key: file_id, line
-- rebuilt by: unit_serial, month
--
-- copy_number   the counter value of the same cycle in another file; where no file has one, a number
--               below zero made of the earliest start that any file gives to this cycle
-- Two lines of different files are one cycle when their starts lie within a minute of each other, which
-- is what rounding does; or, of different feeds, when they lie whole half-hours apart, up to twelve
-- hours, and program, outcome, duration and both temperatures of the hold agree: one of the two feeds
-- is declared in the wrong time zone. Within one feed that may be two runs of one program.
-- Lines of one file are one cycle only when start, program, outcome and end are the same: a false
-- start and its repeat may lie within a minute.
WITH lone AS (
    SELECT staged.*, file.feed,
    FROM stage.cycle AS staged
    SEMI JOIN build.portion USING (unit_serial, month)
    JOIN stage.file AS file USING (file_id)
    WHERE staged.cycle_number IS NULL
),
other AS (
    SELECT staged.*, file.feed, staged.started_utc::DATE AS near_on,
    FROM stage.cycle AS staged
    SEMI JOIN (
        SELECT unit_serial, (month + to_months(step))::DATE AS month,
        FROM lone, (VALUES (-1), (0), (1)) AS beside (step)
    ) AS beside USING (unit_serial, month)
    JOIN stage.file AS file USING (file_id)
),
-- The day and its neighbours, so that the join below is by equality.
reach AS (
    SELECT lone.*, lone.started_utc::DATE + unnest([-1, 0, 1]) AS near_on,
    FROM lone
),
pair AS (
    SELECT
        reach.file_id,
        reach.line,
        other.file_id AS other_file_id,
        other.line AS other_line,
        other.cycle_number,
        other.started_utc,
        abs(epoch(other.started_utc - reach.started_utc)) AS apart_seconds,
    FROM reach
    JOIN other USING (unit_serial, near_on)
    WHERE other.file_id <> reach.file_id
        AND (
            apart_seconds <= 60
            OR (
                other.feed <> reach.feed
                AND apart_seconds <= 43200
                AND abs(apart_seconds - 1800 * round(apart_seconds / 1800)) <= 60
                AND other.program = reach.program
                AND other.outcome = reach.outcome
                AND other.hold_min_celsius = reach.hold_min_celsius
                AND other.hold_max_celsius = reach.hold_max_celsius
                AND abs(
                    epoch(other.ended_utc - other.started_utc)
                    - epoch(reach.ended_utc - reach.started_utc)
                ) <= 60
            )
        )
),
-- A numbered line stands for the nearest line of each file, and no other.
adopted AS (
    SELECT file_id, line, cycle_number, started_utc, apart_seconds,
    FROM pair
    WHERE cycle_number IS NOT NULL
    QUALIFY row_number() OVER (
        PARTITION BY file_id, other_file_id, other_line
        ORDER BY apart_seconds, line
    ) = 1
),
numbered AS (
    SELECT
        file_id,
        line,
        arg_min(cycle_number, (apart_seconds, started_utc, cycle_number)) AS cycle_number,
    FROM adopted
    GROUP BY file_id, line
),
earliest AS (
    SELECT file_id, line, min(started_utc) AS started_utc,
    FROM pair
    WHERE cycle_number IS NULL
    GROUP BY file_id, line
),
anchored AS (
    SELECT
        lone.file_id,
        lone.line,
        lone.unit_serial,
        lone.month,
        lone.started_utc,
        lone.program,
        lone.outcome,
        lone.ended_utc,
        numbered.cycle_number,
        least(lone.started_utc, earliest.started_utc) AS anchor_utc,
    FROM lone
    LEFT JOIN numbered USING (file_id, line)
    LEFT JOIN earliest USING (file_id, line)
)
SELECT
    unit_serial,
    month,
    file_id,
    line,
    coalesce(
        cycle_number,
        -(
            1000 * epoch(anchor_utc)::BIGINT
            + dense_rank() OVER (
                PARTITION BY file_id, unit_serial, cycle_number, anchor_utc
                ORDER BY started_utc, program, outcome, ended_utc
            )
        )
    ) AS copy_number,
FROM anchored
