-- model.conflict
-- One row for each value in which another copy of a cycle says something else than the copy used.
-- key: file_id, line, column_name
-- rebuilt by: unit_serial, month
--
-- column_name               what differs; times and measured values by more than rounding does:
--                           60 s, 0.6 °C, 1 kPa
-- used_value, other_value   as stored, in the project's words and units
-- used_file_id, used_line   the copy that is believed, see model.cycle
-- file_id, line             the other one, which counts as duplicate
-- month                     of the copy used
-- A value that only one of the two has is no conflict: exports differ in their columns.
WITH copy AS (
    SELECT
        cycle_id,
        unit_serial,
        month,
        file_id AS used_file_id,
        line AS used_line,
        unnest(other_copies, recursive := true),
    FROM model.cycle
    SEMI JOIN build.portion USING (unit_serial, month)
    WHERE copy_count > 1
),
-- The lines are looked up once, for both sides, and only in the months where they may lie.
report AS (
    SELECT staged.*,
    FROM stage.cycle AS staged
    SEMI JOIN build.near USING (unit_serial, month)
    SEMI JOIN (
        SELECT used_file_id AS file_id, used_line AS line FROM copy
        UNION ALL
        SELECT file_id, line FROM copy
    ) AS told USING (file_id, line)
),
compared AS (
    SELECT
        copy.*,
        unnest([
            {name: 'cycle_number', used: used.cycle_number::VARCHAR,
                other: other.cycle_number::VARCHAR,
                differs: used.cycle_number <> other.cycle_number},
            {name: 'program', used: used.program, other: other.program,
                differs: used.program <> other.program},
            {name: 'outcome', used: used.outcome, other: other.outcome,
                differs: used.outcome <> other.outcome},
            {name: 'stop_reason', used: used.stop_reason, other: other.stop_reason,
                differs: used.stop_reason <> other.stop_reason},
            {name: 'started', used: strftime(used.started_local, '%Y-%m-%d %H:%M:%S'),
                other: strftime(other.started_local, '%Y-%m-%d %H:%M:%S'),
                differs: abs(epoch(used.started_utc - other.started_utc)) > 60},
            {name: 'ended', used: strftime(used.ended_local, '%Y-%m-%d %H:%M:%S'),
                other: strftime(other.ended_local, '%Y-%m-%d %H:%M:%S'),
                differs: abs(epoch(used.ended_utc - other.ended_utc)) > 60},
            {name: 'set_celsius', used: used.set_celsius::VARCHAR,
                other: other.set_celsius::VARCHAR,
                differs: abs(used.set_celsius - other.set_celsius) > 0.6},
            {name: 'hold_seconds', used: used.hold_seconds::VARCHAR,
                other: other.hold_seconds::VARCHAR,
                differs: abs(used.hold_seconds - other.hold_seconds) > 60},
            {name: 'hold_min_celsius', used: used.hold_min_celsius::VARCHAR,
                other: other.hold_min_celsius::VARCHAR,
                differs: abs(used.hold_min_celsius - other.hold_min_celsius) > 0.6},
            {name: 'hold_max_celsius', used: used.hold_max_celsius::VARCHAR,
                other: other.hold_max_celsius::VARCHAR,
                differs: abs(used.hold_max_celsius - other.hold_max_celsius) > 0.6},
            {name: 'hold_min_kpa', used: used.hold_min_kpa::VARCHAR,
                other: other.hold_min_kpa::VARCHAR,
                differs: abs(used.hold_min_kpa - other.hold_min_kpa) > 1},
            {name: 'hold_max_kpa', used: used.hold_max_kpa::VARCHAR,
                other: other.hold_max_kpa::VARCHAR,
                differs: abs(used.hold_max_kpa - other.hold_max_kpa) > 1},
            {name: 'load_id', used: used.load_id, other: other.load_id,
                differs: used.load_id <> other.load_id},
            {name: 'chemical_indicator', used: used.chemical_indicator,
                other: other.chemical_indicator,
                differs: used.chemical_indicator <> other.chemical_indicator},
            {name: 'released', used: used.released, other: other.released,
                differs: used.released <> other.released}
        ]) AS one,
    FROM copy
    JOIN report AS used
        ON used.file_id = copy.used_file_id AND used.line = copy.used_line
    JOIN report AS other
        ON other.file_id = copy.file_id AND other.line = copy.line
)
SELECT
    cycle_id,
    unit_serial,
    month,
    one.name AS column_name,
    one.used AS used_value,
    one.other AS other_value,
    used_file_id,
    used_line,
    file_id,
    line,
FROM compared
WHERE one.differs
