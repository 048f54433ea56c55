-- practice.followed
-- One row for each profile that stands behind the rules of a site, and the days on which it does.
-- key: practice, from_on
--
-- practice         the name of the rules: of a profile, or of profiles that follow each other
-- profile          the profile that holds on these days; where only one ever does, the same name
-- from_on, to_on   without the last; from_on is 0001-01-01 for the first, to_on null for the last
CREATE OR REPLACE TABLE practice.followed (
    practice VARCHAR NOT NULL,
    profile VARCHAR NOT NULL,
    from_on DATE NOT NULL,
    to_on DATE,
)
