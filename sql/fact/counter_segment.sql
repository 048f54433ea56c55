-- fact.counter_segment
-- One row for each stretch of a unit's counter between two new beginnings.
-- key: unit_serial, segment
--
-- segment                  1 is the first of the history
-- from_number, to_number   lowest and highest value received
-- first_utc, last_utc      first and last start
-- cycle_count              cycles received, those without a number left out
-- missing_count            values skipped in it, those at the rollover that began it with them
-- reason                   why it began: first, rollover, board_change, reset, leap; fact.counter_start
WITH segment AS (
    SELECT
        *,
        row_number() OVER (PARTITION BY unit_serial ORDER BY from_utc, cycle_id) AS segment,
        lead(from_on) OVER (PARTITION BY unit_serial ORDER BY from_utc, cycle_id) AS next_on,
    FROM fact.counter_start
),
-- A run lies within one segment, because a segment begins with a run.
counted AS (
    SELECT
        segment.unit_serial,
        segment.segment,
        min(run.first_number) AS from_number,
        max(run.last_number) AS to_number,
        min(run.first_utc) AS first_utc,
        max(run.last_utc) AS last_utc,
        sum(run.last_number - run.first_number + 1)::BIGINT AS cycle_count,
    FROM fact.counter_run AS run
    ASOF JOIN segment
        ON run.unit_serial = segment.unit_serial
        AND run.first_utc >= segment.from_utc
    GROUP BY segment.unit_serial, segment.segment
),
missing AS (
    SELECT
        segment.unit_serial,
        segment.segment,
        sum(counter_gap.missing_count)::BIGINT AS missing_count,
    FROM fact.counter_gap AS counter_gap
    JOIN segment
        ON segment.unit_serial = counter_gap.unit_serial
        AND counter_gap.used_on >= segment.from_on
        AND (segment.next_on IS NULL OR counter_gap.used_on < segment.next_on)
    GROUP BY segment.unit_serial, segment.segment
)
SELECT
    counted.unit_serial,
    counted.segment,
    counted.from_number,
    counted.to_number,
    counted.first_utc,
    counted.last_utc,
    counted.cycle_count,
    coalesce(missing.missing_count, 0) AS missing_count,
    segment.reason,
FROM counted
JOIN segment USING (unit_serial, segment)
LEFT JOIN missing USING (unit_serial, segment)
