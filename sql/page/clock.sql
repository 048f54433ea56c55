-- page.clock
-- One row for each stretch of the twelve months in which a unit's clock looks wrong, latest first.
-- key: unit_serial, site_id, from_on, evidence
SELECT
    unit_serial,
    site_id,
    from_on,
    to_on,
    suspected_offset_minutes,
    evidence,
    strength,
FROM fact.clock
WHERE to_on IS NULL OR to_on >= $from_on
ORDER BY strength, from_on DESC, unit_serial, evidence
