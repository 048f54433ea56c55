-- measure.comparison
-- One row for each question that was put to many: how many were asked, named, and named by luck alone.
-- key: question
--
-- question         stop_chart, stops_recent, drift
-- asked_count      units, and of drift units and features, that could be asked
-- named_count      of these, named
-- luck_count       as many as luck is expected to name at most: of stop_chart the budget of a quarter, of
--                  the others the false-discovery share of the named
CREATE OR REPLACE TABLE measure.comparison (
    question VARCHAR NOT NULL,
    asked_count BIGINT NOT NULL,
    named_count BIGINT NOT NULL,
    luck_count DOUBLE NOT NULL,
)
