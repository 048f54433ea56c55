from datetime import date

import pytest

from pipeline.measure.window import Window


@pytest.mark.parametrize(
    ("as_of", "from_on", "to_on", "history_on"),
    [
        (date(2026, 10, 31), date(2025, 11, 1), date(2026, 11, 1), date(2024, 1, 1)),
        (date(2026, 12, 30), date(2025, 12, 31), date(2026, 12, 31), date(2024, 1, 1)),
        (date(2026, 12, 31), date(2026, 1, 1), date(2027, 1, 1), date(2025, 1, 1)),
        (date(2027, 1, 1), date(2026, 1, 2), date(2027, 1, 2), date(2025, 1, 1)),
        (date(2024, 2, 29), date(2023, 3, 1), date(2024, 3, 1), date(2022, 1, 1)),
    ],
)
def test_the_year_ends_with_the_day_and_the_history_begins_on_a_new_years_day(
    as_of, from_on, to_on, history_on
):
    assert Window.of(as_of) == Window(as_of, from_on, to_on, history_on)


def test_a_statement_gets_the_parameters_that_it_names_and_no_others():
    window = Window.of(date(2026, 10, 31))

    assert window.parameters(frozenset({"to_on"})) == {"to_on": date(2026, 11, 1)}


def test_a_view_holds_the_days_of_its_build_because_it_takes_no_parameters():
    window = Window.of(date(2026, 10, 31))

    assert window.written_into("a >= $from_on AND b < $to_on AND c >= $from_on - 7") == (
        "a >= DATE '2025-11-01' AND b < DATE '2026-11-01' AND c >= DATE '2025-11-01' - 7"
    )
    assert window.written_into("$from_on_the_way") == "$from_on_the_way"
