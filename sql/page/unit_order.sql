-- page.unit_order
-- One row for each unit of page.unit, in the order in which their pages are written.
-- key: unit_serial
SELECT unit.unit_serial,
FROM model.unit AS unit
JOIN model.site AS site USING (site_id)
WHERE unit.from_on <= $as_of AND (unit.to_on IS NULL OR unit.to_on > $from_on)
ORDER BY site.name, site.site_id, unit.unit_serial
