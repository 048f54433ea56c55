-- measure.finding
-- One row for each thing that needs a person, most urgent first.
-- Here why, next_step and source are messages: stored as what they are made of (base/message.py), spoken when read.
-- key: finding_id
-- order: urgency
--
-- finding_id    from the kind, the subject and the first day of the episode: the same in every build
-- urgency       1 is the first
-- unit_serial   null when the finding is of the whole site
-- kind          growth, cycle_broken, implant_untested, spore_overdue, event_test, incident, stops_recent,
--               stops_year, spore_pending, task_overdue, clock, drift, habit, silent
-- state         act_now, look_into, not_seen
-- since_on      first day of the episode; of signals (stops, drift, habit) the Monday of the first week
--               of the unbroken run of weeks at whose end the signal was there
-- counted_on    of stops_recent: the first day whose stops and cycles its sentence counts; null for other kinds
-- task          of task_overdue, and the event of event_test; null for other kinds
-- feature       of drift, the one that has been outside longest; null for other kinds
-- rule, source   of the practice that asks for it, as practice.rule names it; null where no rule does
-- why           what was found, with its counts, in a sentence
-- next_step     what to do
-- owner         who answers for the site; null when nobody does yet
CREATE OR REPLACE TABLE measure.finding (
    finding_id VARCHAR NOT NULL,
    urgency BIGINT NOT NULL,
    unit_serial VARCHAR,
    site_id VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    state VARCHAR NOT NULL,
    since_on DATE NOT NULL,
    counted_on DATE,
    task VARCHAR,
    feature VARCHAR,
    rule VARCHAR,
    source VARCHAR,
    why VARCHAR NOT NULL,
    next_step VARCHAR NOT NULL,
    owner VARCHAR,
)
