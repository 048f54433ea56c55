-- build.near
-- One row for each span of a unit-month whose rows may belong to a cycle of the portion: the months
-- of the portion, and of the months beside them the day that touches, because the copies and the
-- samples of one cycle may lie on both sides of midnight.
-- key: unit_serial, month, from_local
--
-- from_local    first instant of the span, by the unit's clock
-- until_local   first instant after it
CREATE TABLE IF NOT EXISTS build.near (
    unit_serial VARCHAR NOT NULL,
    month DATE NOT NULL,
    from_local TIMESTAMP NOT NULL,
    until_local TIMESTAMP NOT NULL,
)
