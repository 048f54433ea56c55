-- page.coverage
-- One row for each unit in service: what was heard from it in the twelve months.
-- key: unit_serial
--
-- missing_count   numbers that the unit's own counter skipped
SELECT
    unit_serial,
    site_id,
    first_on,
    last_on,
    cycle_count,
    missing_count,
    false_start_count,
    days_silent,
    state,
    reason,
FROM measure.coverage
ORDER BY unit_serial
