-- practice.loosening
-- One row for each rule in which a profile asks for less than one that it inherits from.
-- key: practice, rule, valid_from
--
-- rule            the kind and what names it among its kind, such as spore/routine
-- ancestor        title of the profile that asks for more
-- what            what the rule is about
-- ancestor_asks   what the ancestor asks for
-- asks            what is asked for instead
-- reason          why, in the words of who decided it
-- valid_from, valid_to   the days on which less is asked, without the last
CREATE OR REPLACE TABLE practice.loosening (
    practice VARCHAR NOT NULL,
    rule VARCHAR NOT NULL,
    ancestor VARCHAR NOT NULL,
    what VARCHAR NOT NULL,
    ancestor_asks VARCHAR NOT NULL,
    asks VARCHAR NOT NULL,
    reason VARCHAR NOT NULL,
    valid_from DATE NOT NULL,
    valid_to DATE,
)
