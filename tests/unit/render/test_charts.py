"""Charts: same values, same bytes; gaps as gaps; names escaped; numbers in their places."""

import re
import xml.etree.ElementTree as ElementTree
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.render.charts.control import Period, control
from pipeline.render.charts.funnel import Funnel, FunnelLimit, FunnelPoint, funnel
from pipeline.render.charts.marks import SHAPES, drawn_once, icon, mark
from pipeline.render.charts.scale import Scale, log_ticks, month_starts, round_ticks
from pipeline.render.charts.small import Interval, interval_bar, sparkline
from pipeline.render.charts.strip import STATES, sample, strip
from pipeline.render.charts.svg import Canvas, joined, path, px, unbroken
from pipeline.render.charts.trace import Trace, trace
from pipeline.render.charts.wear import Wear, wear
from pipeline.render.charts.whole import stretched

EVIL = "\"><script>alert(1)</script>&'x"
MONDAYS = [date(2025, 11, 3) + timedelta(7) * week for week in range(52)]
PERIODS = [date(2025, 11, 2) + timedelta(28) * place for place in range(13)]


def a_funnel(name: str = "Inkwell Sluice", limits: tuple = ()) -> str:
    points = (
        FunnelPoint(name, 4221, 0.06, "act_now", True),
        FunnelPoint("Umber Bay", 2077, 0.02, "usual", False),
        FunnelPoint("Marram Ferry", 409, 0.005, "lower", False),
    )
    return str(funnel(Funnel(points, limits, 0.024, name, name, "Cycles run"), "f"))


def a_control(shares: list[float | None], name: str = "Unit 1") -> str:
    periods = tuple(
        Period(on, share, 0.01, 0.07, share is not None and share > 0.07)
        for on, share in zip(PERIODS, shares, strict=True)
    )
    return str(control(periods, "c", name, name))


def a_strip(states: list[str], name: str = "Unit 1") -> str:
    return str(strip(tuple(zip(MONDAYS, states, strict=False)), "s", name, name))


def a_wear(weeks: list[tuple[date, float]], baseline=(10.0, 12.0), name: str = "Heat-up") -> str:
    return str(wear(Wear(tuple(weeks), baseline, "usual", "10", "12", "11", name, name)))


def a_trace(celsius: tuple, kpa: tuple = (), name: str = "Cycle 1") -> str:
    at = sorted({float(second) for second, _ in (*celsius, *kpa)})
    logged = (np.array([dict(one).get(second, np.nan) for second in at]) for one in (celsius, kpa))
    return str(trace(Trace(np.array(at), *logged, 134.0, name, name), "t"))


def every_chart(name: str) -> dict[str, str]:
    """One chart of each kind, with every state that it knows."""
    bar = Interval(0.024, 0.02, 0.03, (0.024,), 0.06, "usual", name)
    samples = tuple((float(second), 20.0 + second / 10) for second in range(0, 600, 5))
    limits = (FunnelLimit(400, 0.0, 0.01, 0.05, 0.07), FunnelLimit(4000, 0.01, 0.015, 0.03, 0.04))
    return {
        "funnel": a_funnel(name, limits),
        "interval": str(interval_bar(bar)),
        "sparkline": str(sparkline((0.1, None, 0.2, 0.0), name)),
        "control": a_control([0.0, 0.02, None, *[0.1] * 10], name),
        "strip": a_strip([*STATES, *["on_time"] * 44], name),
        "wear": a_wear([(MONDAYS[0], 11.0), (MONDAYS[1], 11.5), (MONDAYS[9], 12.5)], name=name),
        "trace": a_trace(samples, samples, name),
        "icons": "".join(str(icon(shape)) for shape in SHAPES),
        "samples": "".join(str(sample(state)) for state in STATES),
    }


KINDS = sorted(every_chart("x"))


@pytest.mark.parametrize("kind", KINDS)
def test_a_chart_is_the_same_bytes_for_the_same_values(kind):
    assert every_chart("Umber Bay")[kind] == every_chart("Umber Bay")[kind]


@pytest.mark.parametrize("kind", KINDS)
def test_a_chart_is_whole_xml_whatever_the_name(kind):
    for name in ("Umber Bay", EVIL):
        ElementTree.fromstring(f"<all>{every_chart(name)[kind]}</all>")


@pytest.mark.parametrize("kind", KINDS)
def test_a_name_never_becomes_an_element(kind):
    drawn = every_chart(EVIL)[kind]
    assert "<script" not in drawn
    assert "alert(1)" not in drawn or "&lt;script&gt;" in drawn


@pytest.mark.parametrize("kind", KINDS)
def test_no_chart_carries_a_style_a_link_or_a_number_longer_than_a_tenth(kind):
    drawn = every_chart("Umber Bay")[kind]
    assert "style=" not in drawn and "http" not in drawn
    bare = re.sub(r'(stroke-width|stroke-dasharray|transform)="[^"]+"', "", drawn)
    assert not re.search(r"\d\.\d\d", bare)
    assert "nan" not in drawn and "None" not in drawn and "inf" not in drawn.replace("info", "")


@pytest.mark.parametrize("kind", KINDS)
def test_what_a_chart_draws_again_stands_in_it_once(kind):
    drawn = every_chart("Umber Bay")[kind]
    for target in re.findall(r'href="([^"]*)"', drawn):
        assert target[:1] == "#" and drawn.count(f'id="{target[1:]}"') == 1


@pytest.mark.parametrize("kind", KINDS)
def test_every_mark_has_its_colour_beside_its_class(kind):
    """Where a style sheet does not reach inside a picture, the attributes alone must serve."""

    def looks(element, fill: str | None) -> None:
        if element.get("class") not in (None, "chart", "icon", "on-wide", "on-narrow"):
            assert element.get("fill") or element.get("stroke"), ElementTree.tostring(element)
        fill = element.get("fill", fill)
        if element.tag in ("path", "circle", "text"):
            assert fill, ElementTree.tostring(element)
        for part in element:
            looks(part, fill)

    looks(ElementTree.fromstring(f"<all>{every_chart('x')[kind]}</all>"), None)


@pytest.mark.parametrize("kind", ["funnel", "control", "strip", "trace"])
def test_a_large_chart_has_a_title_and_a_description(kind):
    first, *others = ElementTree.fromstring(f"<all>{every_chart('x')[kind]}</all>").iter("svg")
    title, description = first[0], first[1]
    assert (title.tag, description.tag) == ("title", "desc")
    for picture in (first, *others):
        assert picture.get("role") == "img"
        assert picture.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"


@pytest.mark.parametrize("kind", ["funnel", "control", "strip", "trace"])
def test_a_large_chart_is_drawn_again_for_a_phone(kind):
    widths = re.findall(r'<svg class="chart" viewBox="0 0 (\d+)', every_chart("x")[kind])
    assert widths == ["1000", "350"]


def lines(drawn: str, kind: str) -> list[str]:
    """The lines of a kind in the wide drawing, one from each place where a pen is set down."""
    wide = drawn.split("on-narrow")[0]
    paths = re.findall(rf'<path class="{kind}"[^>]* d="([^"]+)"', wide)
    return [line for one in paths for line in one.split("M")[1:]]


def test_a_period_in_which_nothing_ran_is_a_gap_and_not_a_zero():
    with_gap = lines(a_control([0.01, 0.02, None, *[0.02] * 10]), "line")
    without = lines(a_control([0.01, 0.02, 0.0, *[0.02] * 10]), "line")
    assert (len(with_gap), len(without)) == (2, 1)


def test_a_week_without_a_value_is_a_gap_in_the_wear_panel():
    near = [(MONDAYS[0], 11.0), (MONDAYS[1], 11.5), (MONDAYS[2], 11.0), (MONDAYS[3], 11.0)]
    far = [(MONDAYS[0], 11.0), (MONDAYS[1], 11.5), (MONDAYS[3], 11.0), (MONDAYS[4], 11.0)]
    assert (len(lines(a_wear(near), "line")), len(lines(a_wear(far), "line"))) == (1, 2)


def test_a_pause_of_the_log_is_a_gap_in_the_trace():
    whole = tuple((float(s), 100.0 + s % 7) for s in range(0, 600, 5))
    paused = tuple((s, v) for s, v in whole if not 200 < s < 260)
    assert (len(lines(a_trace(whole), "line")), len(lines(a_trace(paused), "line"))) == (1, 2)


def test_a_point_above_its_limit_is_a_triangle_and_the_others_are_circles():
    drawn = a_control([*[0.01] * 12, 0.2]).split("on-narrow")[0]
    (triangles,) = re.findall(r'class="act-fill"[^>]* d="([^"]+)"', drawn)
    assert (triangles.count("M"), drawn.count("<circle")) == (1, 12)


def test_an_outlier_is_named_beside_its_mark_and_nobody_else():
    drawn = a_funnel().split("on-narrow")[0]
    assert re.findall(r'<text class="name"[^>]*>([^<]+)<', drawn) == ["Inkwell Sluice"]


def test_names_of_outliers_do_not_lie_on_one_another():
    points = tuple(FunnelPoint(f"Site {n}", 2000 + n, 0.06, "act_now", True) for n in range(12))
    drawn = str(funnel(Funnel(points, (), 0.02, "t", "d", "x"), "f")).split("on-narrow")[0]
    heights = [float(y) for y in re.findall(r'<text x="[\d.]+" y="([\d.]+)">Site', drawn)]
    assert len(heights) == 12
    assert min(b - a for a, b in zip(sorted(heights), sorted(heights)[1:], strict=False)) >= 12


def test_a_funnel_without_limits_draws_none():
    limits = (FunnelLimit(400, 0.0, 0.01, 0.05, 0.07), FunnelLimit(4000, 0.01, 0.015, 0.03, 0.04))
    count = [len(lines(a_funnel(limits=each), "limit")) for each in ((), limits)]
    assert count[1] - count[0] == 4


def test_each_week_of_a_strip_has_its_own_mark():
    marks = {state: str(sample(state)) for state in STATES}
    assert len(set(marks.values())) == len(STATES)


def test_weeks_on_time_in_a_row_are_one_line_of_as_many_dashes():
    states = ["on_time"] * 20 + ["late"] + ["on_time"] * 31
    wide = a_strip(states).split("on-narrow")[0]
    ((pattern, drawn),) = re.findall(
        r'class="line"[^>]*stroke-dasharray="([^"]+)" d="([^"]+)"', wide
    )
    dash, gap = (float(length) for length in pattern.split())
    lengths = [float(length) for length in re.findall(r"h([\d.]+)", drawn)]
    assert [(length + gap) / (dash + gap) for length in lengths] == pytest.approx(
        [20, 31], abs=0.03
    )


def test_a_plot_is_stretched_from_corner_to_corner():
    first, second = Canvas("a", 1000, 352, 46, 116, 36, 42), Canvas("b", 350, 322, 40, 10, 36, 42)
    placed = re.search(r"matrix\(([^)]+)\)", stretched("a", first, second).shape)[1]
    across, none, nothing, down, right, below = (float(number) for number in placed.split())
    assert (none, nothing) == (0, 0)
    for at, to in ((first.left, second.left), (first.plot_right, second.plot_right)):
        assert at * across + right == pytest.approx(to, abs=0.15)
    for at, to in ((first.top, second.top), (first.plot_bottom, second.plot_bottom)):
        assert at * down + below == pytest.approx(to, abs=0.15)


def test_a_page_draws_each_icon_once_and_refers_to_it():
    cell, lone = f"<td>{icon('usual')}</td>", str(icon("act_now"))
    page = drawn_once(f"<p>{cell * 3}{lone}</p>")
    root = ElementTree.fromstring(page)
    assert len(root.findall(".//circle")) == 1 and root.find("td/svg/g").get("id") == "icon-usual"
    assert [one.get("href") for one in root.iter("use")] == ["#icon-usual"] * 2
    assert [one.get("aria-hidden") for one in root.iter("svg")] == ["true"] * 4
    assert lone in page  # what stands once is left as it is


def test_each_state_has_its_own_shape():
    assert len({mark(shape, 7, 7) for shape in SHAPES}) == len(SHAPES)


def test_neighbours_that_look_alike_are_one_element_and_keep_their_order():
    over = [mark("usual", 1, 1), mark("usual", 2, 2), mark("act_now", 3, 3), mark("usual", 4, 4)]
    drawn = ElementTree.fromstring(f"<all>{joined(over)}</all>")
    assert [(one.tag, one.get("class"), len(one)) for one in drawn] == [
        ("g", "hollow", 2), ("path", "act-fill", 0), ("circle", "hollow", 0),
    ]  # fmt: skip


def test_a_weekly_line_is_not_drawn_where_nothing_ran():
    assert sparkline((None, None), "x") == ""
    assert 'd="' in sparkline((None, 0.1, None), "x")  # a single week is a short dash


# Value to px, worked by hand.
@pytest.mark.parametrize(
    ("scale", "value", "at"),
    [
        (Scale(0, 10, 0, 100), 2.5, 25.0),
        (Scale(0, 10, 100, 0), 2.5, 75.0),
        (Scale(100, 10_000, 0, 200, is_log=True), 1000, 100.0),
    ],
)
def test_a_scale_maps_values_evenly_or_by_logarithm(scale, value, at):
    assert scale(value) == pytest.approx(at)


def test_ticks_are_round_numbers():
    assert round_ticks(0, 0.065) == [0, 0.02, 0.04, 0.06]
    assert round_ticks(0, 12) == [0, 5, 10]
    assert round_ticks(40, 135, 4) == [50, 100]
    assert log_ticks(450, 4500) == [500, 1000, 2000]


def test_months_begin_on_their_first_day():
    assert month_starts(date(2026, 11, 2), date(2027, 2, 1)) == [
        date(2026, 12, 1),
        date(2027, 1, 1),
    ]
    assert month_starts(date(2026, 11, 1), date(2026, 11, 2)) == [date(2026, 11, 1)]


@pytest.mark.parametrize(("value", "text"), [(1.04, "1"), (1.05, "1.1"), (-0.04, "0"), (2.0, "2")])
def test_a_length_is_rounded_to_a_tenth_of_a_px(value, text):
    assert px(value) == text


def test_a_line_needs_two_points_and_a_gap_breaks_it():
    assert path([(1, 1)], "line") == []
    drawn = joined(path([(1, 2), (1.5, 2), (0, 1.25), (12, 10.2)], "line"))
    assert drawn.startswith('<path class="line"') and 'd="M1 2l.5 0-1.5-.8 12 9"/>' in drawn
    assert unbroken([(1, 1), (2, None), (3, 3), (4, 4)]) == [[(1, 1)], [(3, 3), (4, 4)]]


PLACES = st.tuples(*[st.floats(-2000, 2000, allow_nan=False)] * 2)


@given(st.lists(PLACES, min_size=2, max_size=60))
def test_the_steps_of_a_line_lead_to_its_points(points):
    """Read back as W3C, SVG 2, 9.3.4 has it: l moves from where the last step ended."""
    (drawn,) = re.findall(r' d="M([^l]+)l([^"]+)"', joined(path(points, "line")))
    begin, steps = ([float(n) for n in re.findall(r"-?[0-9]*\.?[0-9]+", part)] for part in drawn)
    x, y = begin
    places = [(x, y)]
    for right, down in zip(steps[::2], steps[1::2], strict=True):
        x, y = x + right, y + down
        places.append((x, y))
    assert len(places) == len(points)
    for place, point in zip(places, points, strict=True):
        assert place == pytest.approx(point, abs=0.051)
