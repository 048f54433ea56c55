-- page.coverage
-- One row for each unit in service: what was heard from it in the twelve months.
-- key: unit_serial
--
-- heard_on        last day of which anything was received, cycle or test
-- missing_count   numbers that the unit's own counter skipped
-- reason          a code, worded in reports/words.toml
SELECT
    unit_serial,
    site_id,
    first_on,
    last_on,
    heard_on,
    cycle_count,
    missing_count,
    false_start_count,
    days_silent,
    state,
    reason,
FROM fact.coverage
ORDER BY unit_serial
