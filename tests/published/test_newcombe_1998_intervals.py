"""R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, Table I: 95 % limits of one proportion.

Method 3 is Wilson's score interval, method 5 Clopper and Pearson's. Printed to four decimals.
"""

import pytest

from pipeline.measure.intervals import exact_interval, wilson_interval

PRINTED = 0.00005


@pytest.mark.parametrize(
    ("events", "total", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_gives_method_3(events: int, total: int, low: float, high: float) -> None:
    interval = wilson_interval(events, total)
    assert interval is not None
    assert interval.low == pytest.approx(low, abs=PRINTED)
    assert interval.high == pytest.approx(high, abs=PRINTED)


@pytest.mark.parametrize(
    ("events", "total", "low", "high"),
    [
        (81, 263, 0.2527, 0.3676),
        (15, 148, 0.0578, 0.1617),
        (0, 20, 0.0000, 0.1684),
        (1, 29, 0.0009, 0.1776),
    ],
)
def test_exact_gives_method_5(events: int, total: int, low: float, high: float) -> None:
    interval = exact_interval(events, total)
    assert interval is not None
    assert interval.low == pytest.approx(low, abs=PRINTED)
    assert interval.high == pytest.approx(high, abs=PRINTED)
