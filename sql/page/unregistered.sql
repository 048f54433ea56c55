-- page.unregistered
-- One row for each serial that stands in the logs and not in the register.
-- key: unit_serial, site_id
--
-- unit_serial   as it stands there; null for whatever does not look like a serial
-- row_count     lines of any kind that name it, held until units.csv does
-- cycle_count   of these, lines about cycles
WITH named AS (
    SELECT
        held.found AS unit_serial,
        file.site_id,
        held.table_name,
        held.file_id,
        held.line,
    FROM stage.held AS held
    JOIN stage.file AS file USING (file_id)
    WHERE held.column_name = 'unit_serial' AND held.found IS NOT NULL
    UNION
    -- Only those that no register knows: to tell all cycles of a year apart would fill the memory.
    SELECT unit_serial, site_id, 'cycle' AS table_name, file_id, line,
    FROM model.cycle
    ANTI JOIN model.unit USING (unit_serial)
    WHERE started_on >= $from_on AND started_on < $to_on
)
SELECT
    -- What is no serial is quoted on the page of the site that sent it, and nowhere else.
    CASE
        WHEN regexp_full_match(named.unit_serial, '[A-Za-z0-9._\x2F-]{2,30}')
            AND regexp_matches(named.unit_serial, '[0-9]') THEN named.unit_serial
    END AS unit_serial,
    named.site_id,
    count(*) AS row_count,
    count(*) FILTER (named.table_name = 'cycle') AS cycle_count,
FROM named
ANTI JOIN model.unit AS unit USING (unit_serial)
GROUP BY ALL
ORDER BY site_id, row_count DESC, unit_serial NULLS LAST
