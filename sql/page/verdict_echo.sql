-- page.verdict_echo
-- One row for each unit and program whose log prints what was set.
-- key: unit_serial, program
SELECT
    echo.unit_serial,
    unit.site_id,
    echo.program,
    echo.cycle_count,
FROM fact.verdict_echo AS echo
JOIN model.unit AS unit USING (unit_serial)
ORDER BY echo.unit_serial, echo.program
