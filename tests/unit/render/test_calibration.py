"""The trials on file, as tests/bench/calibration.py wrote them; the bench asserts nothing."""

import tomllib

from pipeline.base.assets import asset
from pipeline.measure.catalogue import load_measures
from pipeline.render.parts.calibration import calibration

TRIALS = tomllib.loads(asset("reports", "calibration.toml").read_text(encoding="utf-8"))["trial"]


def found(question: str) -> list[str]:
    return [one["found"] for one in TRIALS if one["question"].startswith(question)]


def test_every_trial_on_file_is_a_line_of_the_page():
    (table,) = calibration().tables

    assert len(table.lines) == len(TRIALS) > 10
    assert [line.cells[3].text for line in table.lines] == [one["found"] for one in TRIALS]


def test_ranges_of_the_last_trials_hold_what_they_promise():
    shares = [float(one.split()[0]) for one in found("Likely rate")]

    assert len(shares) == 3
    assert all(88 <= share <= 92 for share in shares)
    assert float(found("Likely position")[0].split()[0]) >= 90


def test_false_alarms_of_the_last_trials_are_within_the_declared_budget():
    signal = next(one.signal for one in load_measures() if one.measure == "stopped_equipment")
    (said,) = found("Act now by the stop chart where no unit is bad")

    assert 0 < float(said.split()[0]) <= signal.false_act_now_a_quarter
