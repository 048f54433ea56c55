-- page.held_test
-- One row for each held record about a biological indicator of a unit, in a week of the year.
-- key: unit_serial, week_on, content_sha, line
--
-- week_on   of fact.spore_week, which may begin on another day than Monday
SELECT
    held.unit_serial,
    week.week_on,
    file.site_id,
    file.path,
    file.content_sha,
    held.line,
FROM stage.held_test AS held
JOIN stage.file AS file USING (file_id)
JOIN fact.spore_week AS week
    ON week.unit_serial = held.unit_serial
    AND held.exposed_on >= week.week_on
    AND held.exposed_on < week.week_on + 7
WHERE coalesce(held.kind, 'biological') = 'biological'
ORDER BY held.unit_serial, week.week_on, file.path, file.content_sha, held.line
