-- page.repair
-- One row for each repair of the year: equipment stops before and after it.
-- key: unit_serial, repaired_on
--
-- difference   share after less share before, with its 95 % interval
-- outcome      fewer, more, cannot_tell, too_few
SELECT
    unit_serial,
    repaired_on,
    stopped_before,
    run_before,
    stopped_after,
    run_after,
    difference,
    difference_low,
    difference_high,
    outcome,
FROM measure.repair
ORDER BY unit_serial, repaired_on
