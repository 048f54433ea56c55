-- fact.routine_standing
-- One row for each unit in service and routine test or check that its practice asks for on the as-of day.
-- key: unit_serial, test
--
-- kind             use_day, calendar_week, interval_days (days or weeks of use are counted), per_load (loads)
-- asked_count      of the year; a week that is not over is not counted, done or not
-- done_count       of these, done; late ones with them, and failed ones too: those were done
-- late_count       of these, after the first load
-- failed_count     tests whose last word is a failure; indicators that did not change
-- unseen_count     that cannot be told
-- missed_count     not done
-- lately_asked_count, lately_missed_count   of the last 28 days
-- last_on          last day or week in which one was done
-- missed_since_on  first of the misses that go on, none more than 28 days after the one before; null when
--                  none was missed in the year
-- state            look_into   a habit: in the last 28 days three were missed, two by weeks, and one in
--                              ten or more of those asked for
--                  not_seen    nothing asked for in the year could be told
--                  usual       otherwise
-- reason           habit, missed, none_logged, not_asked_yet, complete
-- The bounds of a habit are common practice, no source.
WITH one AS (
    SELECT
        unit_serial,
        test,
        period_on,
        last_on,
        1 AS asked,
        (state IN ('done', 'late', 'failed', 'awaited'))::INTEGER AS done,
        (state = 'late')::INTEGER AS late,
        (state = 'failed')::INTEGER AS failed,
        (state = 'not_seen')::INTEGER AS unseen,
        (state = 'not_done')::INTEGER AS missed,
    FROM fact.routine_period
    WHERE state <> 'open' AND NOT is_by_month
    UNION ALL BY NAME
    SELECT
        span.unit_serial,
        span.test,
        day.used_on AS period_on,
        day.used_on AS last_on,
        day.load_count AS asked,
        day.changed_count + day.unchanged_count AS done,
        0 AS late,
        day.unchanged_count AS failed,
        day.unseen_count AS unseen,
        day.missing_count AS missed,
    FROM fact.routine_span AS span
    JOIN fact.routine_scope AS scope USING (unit_serial, test)
    JOIN fact.indicator_day AS day
        ON day.unit_serial = span.unit_serial
        AND day.used_on >= span.from_on
        AND day.used_on < span.to_on
        AND day.used_on >= scope.scope_on
    WHERE span.test = 'chemical_in_load' AND span.kind = 'per_load'
),
summed AS (
    SELECT
        unit_serial,
        test,
        last_on >= $from_on AND last_on <= $as_of_on AS is_in_year,
        last_on > $as_of_on - 28 AND last_on <= $as_of_on AS is_lately,
        sum(asked) AS asked,
        sum(done) AS done,
        sum(late) AS late,
        sum(failed) AS failed,
        sum(unseen) AS unseen,
        sum(missed) AS missed,
        max(period_on) FILTER (done > 0) AS last_on,
        list(period_on ORDER BY period_on) FILTER (missed > 0) AS missed_days,
    FROM one
    GROUP BY unit_serial, test, is_in_year, is_lately
),
month AS (
    SELECT
        *,
        asked_bits & ~done_bits & ~unseen_bits AS missed_bits,
        ((1::BIGINT << greatest(least($to_on - month, 31), 0)) - 1)
            & ~((1::BIGINT << greatest(least($from_on - month, 31), 0)) - 1) AS year_bits,
        year_bits & ~((1::BIGINT << greatest(least($as_of_on - 27 - month, 31), 0)) - 1) AS lately_bits,
    FROM fact.routine_month
),
counted AS (
    SELECT
        unit_serial,
        test,
        sum(asked) FILTER (is_in_year) AS asked_count,
        sum(done) FILTER (is_in_year) AS done_count,
        sum(late) FILTER (is_in_year) AS late_count,
        sum(failed) FILTER (is_in_year) AS failed_count,
        sum(unseen) FILTER (is_in_year) AS unseen_count,
        sum(missed) FILTER (is_in_year) AS missed_count,
        sum(asked) FILTER (is_lately) AS lately_asked_count,
        sum(missed) FILTER (is_lately) AS lately_missed_count,
        max(last_on) AS last_on,
    FROM summed
    GROUP BY unit_serial, test
    UNION ALL
    SELECT
        unit_serial,
        test,
        sum(bit_count(asked_bits & year_bits)),
        sum(bit_count(done_bits & year_bits)),
        sum(bit_count(late_bits & year_bits)),
        0,
        sum(bit_count(unseen_bits & year_bits)),
        sum(bit_count(missed_bits & year_bits)),
        sum(bit_count(asked_bits & lately_bits)),
        sum(bit_count(missed_bits & lately_bits)),
        max(month + floor(log2(nullif(done_bits, 0)))::INTEGER),
    FROM month
    GROUP BY unit_serial, test
),
missed AS (
    SELECT
        unit_serial,
        test,
        period_on,
        period_on - lag(period_on) OVER in_time <= 28 AS goes_on,
    FROM (
        SELECT unit_serial, test, unnest(missed_days) AS period_on,
        FROM summed
        UNION ALL
        SELECT
            unit_serial,
            test,
            month + unnest(list_filter(range(31), lambda place: missed_bits >> place & 1 = 1))::INTEGER,
        FROM month
        WHERE missed_bits > 0
    )
    WINDOW in_time AS (PARTITION BY unit_serial, test ORDER BY period_on)
),
since AS (
    SELECT
        unit_serial,
        test,
        max(period_on) FILTER (goes_on IS NOT true) AS missed_since_on,
    FROM missed
    GROUP BY unit_serial, test
),
asked AS (
    SELECT
        span.unit_serial,
        service.site_id,
        span.test,
        span.kind,
        coalesce(counted.asked_count, 0)::BIGINT AS asked_count,
        coalesce(counted.done_count, 0)::BIGINT AS done_count,
        coalesce(counted.late_count, 0)::BIGINT AS late_count,
        coalesce(counted.failed_count, 0)::BIGINT AS failed_count,
        coalesce(counted.unseen_count, 0)::BIGINT AS unseen_count,
        coalesce(counted.missed_count, 0)::BIGINT AS missed_count,
        coalesce(counted.lately_asked_count, 0)::BIGINT AS lately_asked_count,
        coalesce(counted.lately_missed_count, 0)::BIGINT AS lately_missed_count,
        counted.last_on,
        since.missed_since_on,
        span.source,
        span.confidence,
    FROM fact.routine_span AS span
    JOIN fact.service AS service USING (unit_serial)
    LEFT JOIN counted USING (unit_serial, test)
    LEFT JOIN since USING (unit_serial, test)
    WHERE span.to_on > $as_of_on AND span.from_on <= $as_of_on
),
-- By themselves, because a count that is joined would be meant before the one that is made of it.
judged AS (
    SELECT
        * EXCLUDE (missed_since_on),
        CASE WHEN missed_count > 0 THEN missed_since_on END AS missed_since_on,
        CASE
            WHEN lately_missed_count >= CASE kind WHEN 'calendar_week' THEN 2 ELSE 3 END
                AND 10 * lately_missed_count >= lately_asked_count THEN 'habit'
            WHEN missed_count > 0 THEN 'missed'
            WHEN asked_count = 0 THEN 'not_asked_yet'
            WHEN unseen_count = asked_count THEN 'none_logged'
            ELSE 'complete'
        END AS reason,
    FROM asked
)
SELECT
    * EXCLUDE (reason),
    CASE reason
        WHEN 'habit' THEN 'look_into'
        WHEN 'none_logged' THEN 'not_seen'
        WHEN 'not_asked_yet' THEN 'not_seen'
        ELSE 'usual'
    END AS state,
    reason,
FROM judged
