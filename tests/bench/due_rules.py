"""Seven practices for tests/bench/due_time.py, one a kind of rule on spore tests."""

import duckdb

from pipeline.warehouse.statements import create

SPORE = """
    ('weekly', 'interval_days', 7, NULL, NULL, 1, false),
    ('quarterly', 'interval_days', 91, NULL, NULL, 1, false),
    ('week', 'calendar_week', NULL, NULL, NULL, 1, false),
    ('sunday', 'calendar_week', NULL, NULL, NULL, 7, false),
    ('daily', 'use_day', NULL, NULL, NULL, 1, true),
    ('minutes', 'minutes_or_days', 30, NULL, 2400, 1, false),
    ('cycles', 'days_or_cycles', 182, 400, NULL, 1, false)
"""
TASKS = """
    ('chamber_clean', 7, NULL, 2),
    ('deep_clean', 30, 100, 7),
    ('service', 365, 2000, 30),
    ('calibration', 365, NULL, 30),
    ('validation', 365, NULL, 30)
"""
ROUTINES = """
    ('steam_penetration', 'use_day', ['weekly', 'quarterly', 'daily']),
    ('leak', 'calendar_week', ['weekly', 'daily']),
    ('chemical_in_load', 'per_load', ['weekly', 'week', 'minutes'])
"""
RULE = "DATE '0001-01-01' AS valid_from, 'bench' AS source, 'derived' AS confidence"


def write(con: duckdb.DuckDBPyConnection) -> None:
    """Put the rules into the practice tables, and a site for each practice."""
    create(con, "practice")
    con.execute(
        f"""
        INSERT INTO practice.spore_rule BY NAME
        SELECT practice, 'routine' AS rule, kind, days, cycles, minutes, week_starts,
            is_per_program, 0 AS grace_days, 14 AS result_days, false AS is_paused_when_closed,
            {RULE}, practice AS declared_by,
        FROM (VALUES {SPORE}) AS rule
            (practice, kind, days, cycles, minutes, week_starts, is_per_program)
        """
    )
    con.execute(
        f"""
        INSERT INTO practice.task_rule BY NAME
        SELECT practice, task, one.days, one.cycles, one.grace_days, 30 AS act_now_days,
            task = 'chamber_clean' AS is_paused_when_closed, 'user' AS who, {RULE},
            practice AS declared_by,
        FROM practice.spore_rule, (VALUES {TASKS}) AS one (task, days, cycles, grace_days)
        """
    )
    con.execute(
        f"""
        INSERT INTO practice.routine_rule BY NAME
        SELECT unnest(practices) AS practice, test, kind, 0 AS grace_days, 'all' AS applies_to,
            {RULE}, 'bench' AS declared_by,
        FROM (VALUES {ROUTINES}) AS rule (test, kind, practices)
        """
    )
    con.execute(
        f"""
        INSERT INTO practice.event_rule BY NAME
        SELECT practice, event, 'biological' AS test, test_count, false AS is_per_program,
            idle_days, 'all' AS applies_to, {RULE}, practice AS declared_by,
        FROM practice.spore_rule, (VALUES ('repair', 1, NULL), ('growth', 3, NULL), ('idle', 1, 28))
            AS one (event, test_count, idle_days)
        """
    )
    con.execute(
        f"""
        INSERT INTO practice.response_rule BY NAME
        SELECT practice, place, step, condition, test_count, {RULE}, practice AS declared_by,
        FROM practice.spore_rule, (VALUES
            (1, 'out_of_service', 'growth', NULL), (2, 'repeat_same_cycle', 'growth', 1),
            (3, 'recall_since_last_negative', 'second_growth', NULL),
            (4, 'consecutive_runs', 'repaired', 3)) AS one (place, step, condition, test_count)
        """
    )
    con.execute(
        """
        INSERT INTO register.site
        SELECT practice, practice, 'Levels', 'Europe/London', 0, practice, DATE '2020-01-01', NULL,
            NULL
        FROM practice.spore_rule
        """
    )
