-- practice.profile
-- One row for each practice profile that a site of the network follows.
-- key: practice
--
-- asks           what the profile asks for, in a sentence or two
-- jurisdiction   whose rules these are
-- reviewed_on    when a person last compared the figures with their sources
-- unsure         how many of its rules nobody read where they are published, in a sentence; empty when none
-- parents        the profiles that it inherits from, the nearest first
CREATE OR REPLACE TABLE practice.profile (
    practice VARCHAR NOT NULL,
    title VARCHAR NOT NULL,
    asks VARCHAR NOT NULL,
    jurisdiction VARCHAR NOT NULL,
    reviewed_on DATE NOT NULL,
    unsure VARCHAR NOT NULL,
    parents VARCHAR[] NOT NULL,
)
