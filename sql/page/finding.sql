-- page.finding
-- One row for each thing that needs a person, most urgent first.
-- key: finding_id
--
-- unit_serial   null when the finding is of the whole site
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
ORDER BY urgency, finding_id
