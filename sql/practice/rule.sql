-- practice.rule
-- One row for each rule of a profile, of whatever kind, in plain words: what pages print of it.
-- key: practice, rule, valid_from
--
-- place         the order in which the rules of a profile are printed
-- section       spore, response, event, routine, task, retention
-- rule          the kind and what names it among its kind, such as task/deep_clean
-- what, asks    what it is about, and what it asks for
-- who           who does it; null where the rule does not say
-- The other columns are those of practice.spore_rule.
CREATE OR REPLACE TABLE practice.rule (
    practice VARCHAR NOT NULL,
    place INTEGER NOT NULL,
    section VARCHAR NOT NULL,
    rule VARCHAR NOT NULL,
    what VARCHAR NOT NULL,
    asks VARCHAR NOT NULL,
    who VARCHAR,
    valid_from DATE NOT NULL,
    valid_to DATE,
    source VARCHAR NOT NULL,
    confidence VARCHAR NOT NULL,
    declared_by VARCHAR NOT NULL,
)
