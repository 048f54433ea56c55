-- build.portion
-- One row for each touched unit-month that is being rebuilt: all of a unit's in one portion.
-- key: unit_serial, month
CREATE TABLE IF NOT EXISTS build.portion (
    unit_serial VARCHAR NOT NULL,
    month DATE NOT NULL,
)
