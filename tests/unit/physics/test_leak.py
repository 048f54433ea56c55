import numpy as np
import pytest

from pipeline.physics.leak import find_leak
from pipeline.physics.reason import Reason
from pipeline.physics.samples import traces_of

AIR = np.array([101.325])
SECONDS = np.arange(0.0, 1091.0, 10)


def pressure(rate, seconds=SECONDS):
    """Pumped down in 180 s, risen by 1.5 kPa in 300 s of rest, then at this rate a minute."""
    return np.interp(seconds, [0, 180, 480, 1080], [101.3, 5, 6.5, 6.5 + 10 * rate])


def leak_of(seconds, kpa, *, is_test=True):
    traces = traces_of([0, len(seconds)], seconds, np.full(len(seconds), 40.0), kpa)
    return find_leak(traces, np.array([is_test]), AIR)


@pytest.mark.parametrize("rate", [0.0, 0.02, 0.13, 2.5])
def test_the_rate_is_that_of_the_watch_alone(rate):
    found = leak_of(SECONDS, pressure(rate))
    assert found.reasons.tolist() == [Reason.NONE]
    assert found.kpa_per_minute[0] == pytest.approx(rate, abs=1e-9)
    assert found.rise_kpa[0] == pytest.approx(10 * rate, abs=1e-8)
    assert (found.isolated[0], found.deepest_kpa[0]) == (18, 5)


def test_a_few_wild_samples_do_not_move_it():
    kpa = pressure(0.1)
    kpa[[55, 70, 90]] += [30, -1, 55]
    assert leak_of(SECONDS, kpa).kpa_per_minute[0] == pytest.approx(0.1, abs=1e-9)


def test_rounded_instants_do_not_cost_the_watch():
    seconds = np.round(SECONDS[SECONDS <= 1080] * 1.001)
    found = leak_of(seconds, pressure(0.1, seconds / 1.001))
    assert found.kpa_per_minute[0] == pytest.approx(0.1, rel=0.01)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (lambda s, p: (s[s < 1060], p[s < 1060]), Reason.CUT),
        (lambda s, p: (s[s <= 480], p[s <= 480]), Reason.CUT),
        (lambda s, p: (s[(s < 700) | (s > 760)], p[(s < 700) | (s > 760)]), Reason.CUT),
        (lambda s, p: (s, np.where(s == 700, np.nan, p)), Reason.KPA_DOUBTFUL),
        (lambda s, p: (s, np.full(len(s), np.nan)), Reason.KPA_DOUBTFUL),
        (lambda s, p: (s, p + 60), Reason.NOT_FOUND),
        (lambda s, p: (s[::-1], p), Reason.TIME_DOUBTFUL),
        (lambda s, p: (s[:1], p[:1]), Reason.ONE_SAMPLE),
        (lambda s, p: (s[:0], p[:0]), Reason.NO_SAMPLES),
    ],
)
def test_a_watch_that_was_not_seen_whole_has_no_rate(change, reason):
    found = leak_of(*change(SECONDS, pressure(0.1)))
    assert found.reasons.tolist() == [reason]
    assert np.isnan(found.kpa_per_minute[0])
    assert found.isolated.tolist() == [-1]


def test_only_leak_tests_have_a_rate_and_each_its_own():
    seconds = np.tile(SECONDS, 3)
    kpa = np.concatenate([pressure(rate) for rate in (0.1, 0.2, 0.3)])
    traces = traces_of(len(SECONDS) * np.arange(4), seconds, np.full(len(seconds), 40.0), kpa)
    found = find_leak(traces, np.array([True, False, True]), np.repeat(AIR, 3))
    assert found.kpa_per_minute.tolist() == pytest.approx([0.1, np.nan, 0.3], nan_ok=True)
    assert found.reasons.tolist() == [Reason.NONE, Reason.NOT_FOUND, Reason.NONE]
