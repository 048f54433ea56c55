-- page.month_file
-- One row for each log file that a count of a site's month comes from.
-- key: site_id, month_on, file_id
SELECT DISTINCT
    site_id,
    date_trunc('month', started_on)::DATE AS month_on,
    file_id,
FROM model.cycle
WHERE started_on >= $from_on AND started_on <= $as_of
UNION
SELECT DISTINCT
    site_id,
    date_trunc('month', exposed_on)::DATE AS month_on,
    file_id,
FROM model.test
WHERE exposed_on >= $from_on AND exposed_on <= $as_of
ORDER BY site_id, month_on, file_id
