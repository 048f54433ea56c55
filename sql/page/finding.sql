-- page.finding
-- One row for each thing that needs a person, most urgent first.
-- key: finding_id
--
-- unit_serial   null when the finding is of the whole site
-- rule, source  of the practice that asks for it; null where no rule does
-- counted_on    the first day that its sentence counts; null where that is since_on, or no sentence counts
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
    rule,
    source,
    counted_on,
FROM measure.finding
ORDER BY urgency, finding_id
