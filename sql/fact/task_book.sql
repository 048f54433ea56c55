-- fact.task_book
-- One row for each unit with maintenance acts in the year: what in its book looks filled in afterwards.
-- key: unit_serial
--
-- act_count            acts of the year
-- noted_twice_count    of these, written down more than once in the same file
-- closed_count         of those that users do, dated on a day on which the unit was closed
-- counter_count        of all, with a counter
-- round_count          of these, ending in 0: one in ten would by chance
-- same_counter_count   of these, with the counter of an earlier act, although the unit ran on a day between
-- interval_count       intervals that ended in the year
-- early_count          of these, after less than a quarter of what is allowed
-- together_count       days on which three such early ones ended
-- is_same_counter, is_round, is_closed, is_early, is_twice
--                      whether it is more than a slip: three or more; of round counters half of ten or more;
--                      of early ones a quarter of all
-- The bounds are common practice, no source. It is about a book and never about a person.
WITH act AS (
    SELECT
        task.*,
        closed_day.closed_on IS NOT NULL AS is_closed_day,
    FROM model.task AS task
    LEFT JOIN fact.closed_day AS closed_day
        ON closed_day.unit_serial = task.unit_serial AND closed_day.closed_on = task.done_on
    WHERE task.done_on >= $from_on AND task.done_on <= $as_of_on
),
counted AS (
    SELECT
        unit_serial,
        count(*) AS act_count,
        count(*) FILTER (noted_count > 1) AS noted_twice_count,
        count(*) FILTER (by_role = 'user' AND is_closed_day) AS closed_count,
        count(counter) AS counter_count,
        count(*) FILTER (counter % 10 = 0) AS round_count,
    FROM act
    GROUP BY unit_serial
),
first_noted AS (
    SELECT unit_serial, counter, min(done_on) AS first_on,
    FROM act
    WHERE counter IS NOT NULL
    GROUP BY unit_serial, counter
),
-- Cycles run between the day of the first act with this counter and the day of this one.
same AS (
    SELECT act.unit_serial, count(*) AS same_counter_count,
    FROM act
    JOIN first_noted
        ON first_noted.unit_serial = act.unit_serial
        AND first_noted.counter = act.counter
        AND first_noted.first_on < act.done_on
    LEFT JOIN fact.wear_month AS first_month
        ON first_month.unit_serial = act.unit_serial
        AND first_month.month = date_trunc('month', first_noted.first_on)::DATE
    JOIN fact.wear_month AS last_month
        ON last_month.unit_serial = act.unit_serial
        AND last_month.month = date_trunc('month', act.done_on - 1)::DATE
    WHERE last_month.wear_before + last_month.wear_totals[day(act.done_on - 1)]
        > coalesce(first_month.wear_before + first_month.wear_totals[day(first_noted.first_on)], 0)
    GROUP BY act.unit_serial
),
ended AS (
    SELECT unit_serial, ended_on, count(*) AS interval_count, count(*) FILTER (used_share < 0.25) AS early_count,
    FROM fact.task_interval
    WHERE ended_on >= $from_on AND ended_on <= $as_of_on
    GROUP BY unit_serial, ended_on
),
early AS (
    SELECT
        unit_serial,
        sum(interval_count)::BIGINT AS interval_count,
        sum(early_count)::BIGINT AS early_count,
        count(*) FILTER (early_count >= 3) AS together_count,
    FROM ended
    GROUP BY unit_serial
)
SELECT
    counted.*,
    coalesce(same.same_counter_count, 0) AS same_counter_count,
    coalesce(early.interval_count, 0) AS interval_count,
    coalesce(early.early_count, 0) AS early_count,
    coalesce(early.together_count, 0) AS together_count,
    coalesce(same.same_counter_count, 0) >= 3 AS is_same_counter,
    counter_count >= 10 AND 2 * round_count >= counter_count AS is_round,
    closed_count >= 3 AS is_closed,
    coalesce(early.early_count, 0) >= 3
        AND 4 * coalesce(early.early_count, 0) >= coalesce(early.interval_count, 0) AS is_early,
    noted_twice_count >= 3 AS is_twice,
FROM counted
LEFT JOIN same USING (unit_serial)
LEFT JOIN early USING (unit_serial)
