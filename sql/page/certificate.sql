-- page.certificate
-- One row for each unit in service and certificate, that which expires first before the others.
-- key: unit_serial, task
--
-- reason   a code, worded in reports/words.toml
SELECT
    unit_serial,
    site_id,
    task,
    issued_on,
    expires_on,
    days_left,
    state,
    reason,
FROM fact.certificate
ORDER BY expires_on NULLS FIRST, unit_serial, task
