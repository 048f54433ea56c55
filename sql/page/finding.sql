-- page.finding
-- One row for each thing that needs a person, most urgent first.
-- key: finding_id
--
-- A fact (growth, a test or task overdue) stands before a statistical signal of the same state.
SELECT
    finding_id,
    unit_serial,
    site_id,
    kind,
    state,
    since_on,
    why,
    next_step,
    owner,
FROM measure.finding
ORDER BY
    list_position(['act_now', 'look_into', 'not_seen'], state),
    list_position(
        [
            'growth', 'spore_overdue', 'stops_recent', 'stops_year',
            'task_overdue', 'drift', 'habit', 'silent',
        ],
        kind
    ),
    since_on,
    site_id,
    unit_serial,
    finding_id
