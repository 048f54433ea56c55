import pytest

from pipeline.base.quantity import UNITS, dimension_of, unit_of
from pipeline.config.kinds import KINDS, kind


@pytest.mark.parametrize(
    ("target", "dimension"),
    [
        ("hold_min_celsius", "temperature"),
        ("hold_max_kpa", "pressure"),
        ("leak_kpa_per_minute", "pressure rate"),
        ("elapsed_seconds", "time"),
        ("incubation_hours", "hours"),
        ("conductivity_us_per_cm", "conductivity"),
        ("cycle_number", None),
        ("done_on", None),
        ("note", None),
    ],
)
def test_the_end_of_a_columns_name_tells_what_it_measures(
    target: str, dimension: str | None
) -> None:
    assert dimension_of(target) == dimension


def test_every_staged_double_has_a_dimension() -> None:
    doubles = {
        target
        for name in KINDS
        for target, type_ in kind(name).columns.items()
        if type_ == "DOUBLE"
    }
    assert doubles
    assert [target for target in sorted(doubles) if dimension_of(target) is None] == []


def test_no_unit_named_means_ours() -> None:
    assert unit_of("hold_min_kpa", None) == unit_of("hold_min_kpa", "kPa") == (1.0, 0.0)
    assert unit_of("cycle_number", None) == (1.0, 0.0)


def test_a_unit_of_another_dimension_is_not_known() -> None:
    with pytest.raises(KeyError):
        unit_of("hold_min_kpa", "degF")


def test_the_units_named_in_the_handbook_are_there() -> None:
    assert {"degC", "degF", "K"} <= UNITS["temperature"].keys()
    assert {"kPa", "bar", "mbar", "psi", "inHg", "mmHg", "kgf/cm2"} <= UNITS["pressure"].keys()
    assert {"s", "min", "h", "mm:ss", "hh:mm:ss"} <= UNITS["time"].keys()
