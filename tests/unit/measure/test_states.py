import pytest

from pipeline.base.message import spoken, verbatim
from pipeline.measure.states import State, group_state


def unit(state: str) -> State:
    return State(state, "growth" if state == "act_now" else None, verbatim("as found"))


@pytest.mark.parametrize(
    ("units", "state", "reason"),
    [
        ("usual usual", "usual", "Nothing found that needs a person."),
        ("usual act_now look_into", "act_now", "1 unit of 3 needs action now."),
        ("act_now act_now not_seen", "act_now", "2 units of 3 need action now."),
        ("usual look_into too_few", "look_into", "1 unit of 3 should be looked into."),
        ("too_few not_seen", "too_few", "Too few cycles to say."),
        (
            "usual not_seen usual",
            "usual",
            "Nothing found that needs a person; 1 unit of 3 was not seen.",
        ),
        ("not_seen not_seen", "not_seen", "None of 2 units was seen."),
        ("not_seen", "not_seen", "The only unit was not seen."),
        ("not_seen act_now", "act_now", "1 unit of 2 needs action now."),
        ("", "too_few", "No unit is in service."),
    ],
)
def test_a_place_has_the_most_urgent_state_of_its_units(units, state, reason):
    found = group_state([unit(one) for one in units.split()], [])

    assert (found.state, spoken(found.reason)) == (state, reason)


def test_the_kind_is_that_of_the_finding_that_decided():
    assert group_state([unit("usual"), unit("act_now")], []).kind == "growth"
    assert group_state([unit("usual")], []).kind is None
    assert group_state([unit("not_seen")], []).kind == "silent"


def test_what_was_found_of_the_site_as_a_whole_counts():
    told = verbatim("Stopped 90 of 900.")
    found = group_state([unit("usual")], [State("look_into", "stops_year", told)])

    assert (found.state, found.kind) == ("look_into", "stops_year")
    assert spoken(found.reason) == "The site as a whole should be looked into."


def test_a_silent_site_is_not_more_than_its_silent_units():
    silent = State("not_seen", "silent", "Nothing was received.")

    assert group_state([unit("usual")], [silent]).state == "usual"
    assert group_state([unit("not_seen")], [silent]).state == "not_seen"
