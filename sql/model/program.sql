-- model.program
-- One row for each kind of program, in the project's words.
-- key: program
-- rebuilt: whole
--
-- is_load_cycle   the cycle is meant to sterilize a load; tests, warm-up and drying alone are not
SELECT program, is_load_cycle,
FROM (
    VALUES
        ('unwrapped_121', true),
        ('unwrapped_134', true),
        ('wrapped_121', true),
        ('wrapped_134', true),
        ('pouch', true),
        ('porous', true),
        ('hollow', true),
        ('liquids', true),
        ('immediate_use', true),
        ('prion_18', true),
        ('drying_only', false),
        ('test_steam_penetration', false),
        ('test_leak', false),
        ('test_warmup', false),
        ('test_act', false),
        ('clean', false),
        ('rinse', false),
        ('standby', false),
) AS listed (program, is_load_cycle)
