-- fact.certificate
-- One row for each unit in service and certificate that its practice asks for: when it expires.
-- key: unit_serial, task
--
-- task         calibration, validation, vessel_inspection
-- issued_on    day of the last one on record; null when there is none
-- expires_on   its last day by the practice's interval, which a certificate's own date may undercut; null
--              when none is on record, because nothing then says how old the unit's last one is
-- days_left    days until then, below 0 when it has passed; null when not known
-- state        as of fact.task_due, whose grace the practice gives; what is not on record and not overdue
--              either, as of a new unit, is not seen
-- reason       expired, expiring (within 60 days), valid
--              none_on_record   the site logs its tasks, and this one is not among them
--              not_seen         no task of the site was ever received
SELECT
    unit_serial,
    site_id,
    task,
    last_done_on AS issued_on,
    CASE WHEN last_done_on IS NOT NULL THEN due_on END AS expires_on,
    (expires_on - $as_of_on)::INTEGER AS days_left,
    CASE WHEN last_done_on IS NULL AND state = 'usual' THEN 'not_seen' ELSE state END AS state,
    CASE
        WHEN reason = 'no_task_log' THEN 'not_seen'
        WHEN last_done_on IS NULL THEN 'none_on_record'
        WHEN days_left < 0 THEN 'expired'
        WHEN days_left <= 60 THEN 'expiring'
        ELSE 'valid'
    END AS reason,
    source,
FROM fact.task_due
WHERE task IN ('calibration', 'validation', 'vessel_inspection')
