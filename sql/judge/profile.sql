-- judge.profile
-- One row for each practice that has a table of programs: what holds for all rows of the table.
-- key: practice
--
-- program_table             name of the table, a file of expectations/practice/programs/
-- lower_edge                set: not below what the program asks for; table: not below the row's temperature
-- needs_penetration_time    only a unit's own program can show that a cycle was long enough
-- band_kelvin               above the temperature asked for; null where no figure is published
-- spread_kelvin             between the least and the greatest temperature of a hold; null likewise
-- saturation_kelvin         between the temperature and that of saturated steam at the pressure
CREATE TABLE IF NOT EXISTS judge.profile (
    practice VARCHAR NOT NULL,
    program_table VARCHAR NOT NULL,
    title VARCHAR NOT NULL,
    reviewed_on DATE NOT NULL,
    lower_edge VARCHAR NOT NULL,
    needs_penetration_time BOOLEAN NOT NULL,
    band_kelvin DOUBLE,
    spread_kelvin DOUBLE,
    saturation_kelvin DOUBLE,
    leak_kpa_per_minute DOUBLE,
)
