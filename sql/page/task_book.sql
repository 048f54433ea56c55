-- page.task_book
-- One row for each unit whose book of tasks looks filled in afterwards, in some way or other.
-- key: unit_serial
SELECT
    unit_serial,
    act_count,
    noted_twice_count,
    closed_count,
    counter_count,
    round_count,
    same_counter_count,
    interval_count,
    early_count,
    together_count,
    is_same_counter,
    is_round,
    is_closed,
    is_early,
    is_twice,
FROM fact.task_book
WHERE is_same_counter OR is_round OR is_closed OR is_early OR is_twice
ORDER BY unit_serial
