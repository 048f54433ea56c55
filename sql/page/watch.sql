-- page.watch
-- One row for each unit that is heard of, the likeliest to fail within four weeks first.
-- key: unit_serial
SELECT
    unit_serial,
    position,
    probability,
    why,
    is_listed,
FROM measure.watch
ORDER BY position
