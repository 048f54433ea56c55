-- measure.repair
-- One row for each repair of the year: equipment stops before and after it.
-- key: unit_serial, repaired_on
--
-- before_on         first day of the 56 before the repair, or the day after the last fresh start in them
-- after_to_on       day after the last of the 56 after it, of the as-of day, or before the next fresh start
-- stopped_before, run_before, stopped_after, run_after
--                   equipment stops of load cycles; those of the day itself are on neither side
-- difference        share after less share before, with its 95 % interval difference_low,
--                   difference_high (Newcombe); null when nothing was run on a side
-- outcome           fewer, more: the whole interval is on that side of 0; cannot_tell; too_few with fewer
--                   than 20 load cycles on a side
CREATE OR REPLACE TABLE measure.repair (
    unit_serial VARCHAR NOT NULL,
    repaired_on DATE NOT NULL,
    before_on DATE NOT NULL,
    after_to_on DATE NOT NULL,
    stopped_before BIGINT NOT NULL,
    run_before BIGINT NOT NULL,
    stopped_after BIGINT NOT NULL,
    run_after BIGINT NOT NULL,
    difference DOUBLE,
    difference_low DOUBLE,
    difference_high DOUBLE,
    outcome VARCHAR NOT NULL,
)
