-- judge.followed
-- One row for each profile that sites follow from a day on, where they follow one after another.
-- key: practice, from_on
--
-- practice   the name of the rules of such sites, as in practice.followed
-- from_on    0001-01-01 for the first
-- profile    whose table of programs holds from then on
CREATE TABLE IF NOT EXISTS judge.followed (
    practice VARCHAR NOT NULL,
    from_on DATE NOT NULL,
    profile VARCHAR NOT NULL,
)
