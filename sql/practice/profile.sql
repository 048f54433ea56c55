-- practice.profile
-- One row for each practice profile that a site of the network follows.
-- key: practice
--
-- asks          what the profile asks for, in a sentence or two
-- reviewed_on   when a person last compared the figures with their sources
CREATE OR REPLACE TABLE practice.profile (
    practice VARCHAR NOT NULL,
    title VARCHAR NOT NULL,
    asks VARCHAR NOT NULL,
    reviewed_on DATE NOT NULL,
)
