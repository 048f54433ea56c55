-- fact.spore_past
-- One row for each unit and program tested before the year's first week: from when on tests still decide.
-- key: unit_serial, program
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- program      null when it could not be told
-- decides_on   day of its last valid negative; the beginning of the history when there is none, or when
--              a test of the unit grew
WITH tested AS (
    SELECT
        unit_serial,
        program,
        max(exposed_on) FILTER (state = 'valid_negative' AND read_on <= $as_of_on) AS last_valid_on,
        bool_or(state = 'growth') AS has_growth,
    FROM model.test
    WHERE kind = 'biological' AND exposed_on >= $history_on AND exposed_on < $from_on - 7
    GROUP BY unit_serial, program
)
SELECT
    unit_serial,
    program,
    CASE
        WHEN bool_or(has_growth) OVER (PARTITION BY unit_serial) THEN $history_on
        ELSE coalesce(last_valid_on, $history_on)
    END AS decides_on,
FROM tested
