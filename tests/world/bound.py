"""Places whose row says what it is of: there a number must come from that row and that column."""

_BALANCE = {
    "Files": "file_count", "Set aside": "aside_count", "Read": "read_count", "Used": "used_count",
    "Held": "held_count", "Duplicate": "duplicate_count",
}  # fmt: skip
_JUDGED = {
    "As asked": "meets_count finished_count", "Not as asked": "breaks_count finished_count",
    "Cannot be told": "cannot_tell_count finished_count",
}  # fmt: skip
_ROUTINE = {
    "Done": "done_count asked_count", "Failed": "failed_count", "Cannot be told": "unseen_count",
}  # fmt: skip
_TASK = {
    "Used": "used_share days_since cycles_since", "Last done": "last_done_on",
    "Allowed": "allowed_days allowed_cycles",
}  # fmt: skip
_UNITS = r"(units|index|region|site) ([a-z-]+ )?table-(all-units|units|stopped-units|spore-units)"
_SITES = r"(index|region) [a-z-]+ table-(all-sites|spore-sites|upkeep-sites)"
_SUBJECTS = r"\w+ ([a-z-]+ )?table-(all-units|units|stopped-units|all-sites|stopped-sites)"

BOUND = (
    # A pattern of the place, the source, its columns, and the keys by which the row names its row.
    (r"unit upkeep table-acts\|Done", "act", "done_on", {"file": "", "line": "", "task": "task"}),
    (r"unit upkeep table-acts\|Log line", "act", "line",
     {"file": "", "done_on": "", "task": "task"}),
    (r"unit spore table-tests\|Exposed", "spore_test", "exposed_local", {"file": "", "line": ""}),
    (r"unit spore table-tests\|Log line", "spore_test", "line",
     {"file": "", "exposed_local": ""}),
    (r"unit sources table-files\|Lines used", "file", "a_count", {"file": ""}),
    (r"unit sources table-files\|Lines$", "file", "b c", {"file": ""}),
    (r"unit stops table-reasons\|Stopped", "reason", "stopped_count",
     {"stop_reason": "stop_reason"}),
    (r"site why table-reasons\|Stopped", "reason_of_site", "stopped_count",
     {"stop_reason": "stop_reason"}),
    (r"site why table-reasons\|Unit ", "reason_of_unit", "stopped_count",
     {"stop_reason": "stop_reason", "label": ""}),
    (r"site due table-due\|Due", "due", "due_on", {"what": "task"}),
    (r"site due table-due\|Due", "spore_due", "due_on", {}),
    (r"site due table-due\|Due", "certificate", "expires_on", {"task": "task"}),
    (r"unit dd.figure\|Weeks tested", "spore_due", "weeks_on_time weeks_in_use", {}),
    (r"unit dd.figure\|Likely position", "rate",
     "position_low position_high position_count", {}),
    (r"unit dd.(figure|below)\|Stopped by", "rate", "numerator denominator", {}),
    (r"unit stops (p.lead|desc|summary)", "period_count",
     "a_count above_count usual_share lately_count cycle_count shown_count", {}),
    (r"unit spore summary", "test_count", "a_count week_count", {}),
    (r"unit upkeep (p.lead|summary)", "task_count", "a_count late_count act_count shown_count", {}),
    (r"unit sources dd.figure\|Stopped within 60", "coverage", "false_start_count", {}),
    (r"unit stops table-stopped-cycles\|Cycle", "stopped", "cycle_number",
     {"file": "", "line": ""}),
    (r"unit stops table-stopped-cycles\|Log line", "stopped", "line",
     {"file": "", "cycle_number": ""}),
    (r"finding evidence table-lines\|Log line", "line", "line", {"file": "", "told_at": ""}),
    (r"\w+ doing dd\|Since", "finding", "since_on b_days", {"since_on": ""}),
    (r"site units table-units\|Most common reason", "reason_share", "stopped_count total_count",
     {"stop_reason": "stop_reason"}),
    (r"unit wear label", "panel", "a_count b c d e f g", {"title": ""}),
    (rf"{_UNITS}\|Weeks tested on time", "spore_due", "weeks_on_time weeks_in_use", {}),
    (rf"{_UNITS}\|Last clear test", "spore_due", "last_valid_on", {}),
    (rf"{_SITES}\|Weeks tested on time", "site_count", "weeks_on_time weeks_in_use", {}),
    (rf"{_SITES}\|Overdue now", "site_count", "overdue_count longest_days unit_count", {}),
    (rf"{_SITES}\|Maintenance", "site_count", "drifting_count task_count", {}),
    (rf"{_SITES}\|Units drifting", "site_count", "drifting_count unit_count", {}),
    (rf"{_SITES}\|Tasks overdue", "site_count", "task_count", {}),
    (rf"{_SITES}\|Getting later", "site_count", "later_count", {}),
    (rf"{_UNITS}\|Maintenance", "to_do", "task_count drifting_count", {}),
    (rf"{_SUBJECTS}\|No known reason", "no_reason", "numerator denominator", {}),
    (rf"{_SUBJECTS}\|Any reason", "every_stop", "numerator denominator", {}),
    (rf"{_SUBJECTS}\|Stopped by", "rate", "numerator denominator", {}),
    (rf"{_SUBJECTS}\|Likely rate", "rate", "likely likely_low likely_high", {}),
    (rf"{_SUBJECTS}\|Likely position", "rate",
     "position_low position_high position_count p_worse reason", {}),
    (rf"{_SUBJECTS}\|Last 4 weeks", "recent_each", "stopped_count run_count expected_count", {}),
    (r"(region|site|index|units) ((stopped|all|units) )?label", "rate",
     "likely likely_low likely_high", {}),
    (r"(region|site|index|units) ((stopped|all|units) )?label", "week_run", "a_count", {}),
    *(
        (rf"unit judged table-judged-programs\|{title}", "judged_program", columns,
         {"program": "program"})
        for title, columns in _JUDGED.items()
    ),
    *(
        (rf"\w+ (routine|spore|strips) table-routine\|{title}", "routine", columns,
         {"test": "rule.routine"})
        for title, columns in _ROUTINE.items()
    ),
    *(
        (rf"unit upkeep table-tasks\|{title}", "task_due", columns, {"task": "task"})
        for title, columns in _TASK.items()
    ),
    *(
        (rf"site sources table-balance\|{title}", "balance_feed", column, {"feed": ""})
        for title, column in _BALANCE.items()
    ),
    *(
        (rf"data balance-all table-balance\|{title}", "balance_all", column, {"feed": ""})
        for title, column in _BALANCE.items()
    ),
    *(
        (rf"data balance-all table-balance-sites\|{title}", "balance_feed", column,
         {"feed": "", "site_name": ""})
        for title, column in _BALANCE.items()
    ),
)  # fmt: skip
