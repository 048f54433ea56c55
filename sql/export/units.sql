-- export.units
-- One row for each unit in service: its state, stops, spore tests and what was received of it.
-- key: unit_serial
--
-- likely_low_share, likely_high_share   90 % interval of the likely share of equipment stops
-- weeks_in_use, weeks_on_time           spore-test weeks of the year
-- missing_count                         counter values skipped: cycles that ran and were not received
SELECT
    state.state,
    site.region,
    site.name AS site_name,
    unit.label AS unit_label,
    unit.unit_serial,
    unit.air_removal,
    unit.from_on,
    equipment.numerator AS equipment_stop_count,
    every_reason.numerator AS stop_count,
    equipment.denominator AS load_cycle_count,
    equipment.likely_low AS likely_low_share,
    equipment.likely_high AS likely_high_share,
    equipment.position_low,
    equipment.position_high,
    spore.last_valid_on,
    spore.due_on,
    spore.days_overdue,
    spore.cycles_while_overdue,
    spore.weeks_on_time,
    spore.weeks_in_use,
    coverage.heard_on,
    coverage.missing_count,
    state.reason,
FROM model.unit AS unit
JOIN fact.service AS service USING (unit_serial)
JOIN model.site AS site ON site.site_id = service.site_id
LEFT JOIN measure.state AS state
    ON state.level = 'unit' AND state.subject_id = unit.unit_serial
LEFT JOIN measure.ranking AS equipment
    ON equipment.measure = 'stopped_equipment'
    AND equipment.level = 'unit'
    AND equipment.subject_id = unit.unit_serial
LEFT JOIN measure.ranking AS every_reason
    ON every_reason.measure = 'stopped_all'
    AND every_reason.level = 'unit'
    AND every_reason.subject_id = unit.unit_serial
LEFT JOIN fact.spore_due AS spore ON spore.unit_serial = unit.unit_serial
LEFT JOIN fact.coverage AS coverage ON coverage.unit_serial = unit.unit_serial
ORDER BY site.name, site.site_id, unit.label, unit.unit_serial
