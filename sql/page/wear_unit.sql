-- page.wear_unit
-- One row for each unit with a measured value of the twelve months that may show wear.
-- key: unit_serial
SELECT DISTINCT unit_serial,
FROM fact.wear_week
WHERE week_on >= $from_on - 6 AND week_on < $to_on AND isfinite(middle)
ORDER BY unit_serial
