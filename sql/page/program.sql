-- page.program
-- One row for each table, way of removing air, wrap and temperature: the least that is asked for.
-- key: program_table, air_removal, wrap, celsius
SELECT DISTINCT
    profile.program_table,
    program.air_removal,
    program.wrap,
    program.celsius,
    program.hold_seconds,
    program.source,
    program.confidence,
FROM judge.program AS program
JOIN judge.profile AS profile USING (practice)
ORDER BY profile.program_table, program.air_removal, program.wrap, program.celsius
