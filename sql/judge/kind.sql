-- judge.kind
-- One row for each kind of program that can be judged, from pipeline/practice/program.py.
-- key: program
--
-- wrap      unwrapped, wrapped, textile, liquid, prion, penetration_test, leak_test
-- celsius   the temperature in the program's name, for logs that do not say what was asked for; null where
--           the name holds none
CREATE TABLE IF NOT EXISTS judge.kind (
    program VARCHAR NOT NULL,
    wrap VARCHAR NOT NULL,
    celsius DOUBLE,
)
