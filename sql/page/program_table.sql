-- page.program_table
-- One row for each practice that has a table of programs, with what holds for all of its rows.
-- key: practice
SELECT
    practice,
    program_table,
    title,
    reviewed_on,
    lower_edge,
    needs_penetration_time,
FROM judge.profile
ORDER BY practice
