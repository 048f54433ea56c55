-- page.program_figure
-- One row for each limit that holds for all rows of a table, with where it is from.
-- key: program_table, figure
SELECT
    program_table,
    figure,
    value,
    source,
    confidence,
FROM judge.figure
ORDER BY program_table, figure
