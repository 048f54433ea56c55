-- build.touched
-- One row for each unit-month that rows of this run say something about, until every step has brought
-- its tables up to it; before the rebuild a unit-month may stand here more than once.
-- key: unit_serial, month
CREATE TABLE IF NOT EXISTS build.touched (
    unit_serial VARCHAR,
    month DATE,
)
