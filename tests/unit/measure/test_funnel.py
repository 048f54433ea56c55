import numpy as np
import polars as pl
import pytest

from pipeline.measure.funnel import funnel_rows


def ranking_of(sites: list[tuple[int, int]], share: float | None) -> pl.DataFrame:
    network = [("stopped", "network", 0, 0, share, False)]
    return pl.DataFrame(
        network + [("stopped", "site", x, n, x / n, True) for x, n in sites],
        schema=["measure", "level", "numerator", "denominator", "share", "is_ranked"],
        orient="row",
    )


ALIKE = [(5, 100), (9, 200), (26, 500), (50, 1000)]


@pytest.mark.parametrize(
    ("denominator", "low_outer", "low_inner", "high_inner", "high_outer"),
    [
        (100, 0.0, 0.00612, 0.09191, 0.12464),
        (200, 0.00654, 0.01958, 0.07971, 0.10118),
        (500, 0.02158, 0.03071, 0.06899, 0.08160),
        (1000, 0.02950, 0.03640, 0.06345, 0.07202),
    ],
)
def test_alike_sites_have_the_exact_limits_of_chance(
    denominator, low_outer, low_inner, high_inner, high_outer
):
    """Spiegelhalter's interpolated limits at 0.05, recomputed apart from this project."""
    row = funnel_rows(ranking_of(ALIKE, 0.05), "stopped").row(
        by_predicate=pl.col("denominator") == denominator, named=True
    )

    assert row["dispersion"] == 1
    found = [row[name] for name in ("low_outer", "low_inner", "high_inner", "high_outer")]
    assert found == pytest.approx([low_outer, low_inner, high_inner, high_outer], abs=6e-6)


def test_sites_that_all_differ_have_wider_limits():
    """The limits of 1,000 cycles above lie 0.02202 and 0.0205 from the share of 0.05."""
    differing = [(x, 1000) for x in (20, 25, 30, 40, 50, 60, 70, 75, 80)]
    row = funnel_rows(ranking_of(differing, 0.05), "stopped").row(0, named=True)

    root = row["dispersion"] ** 0.5
    assert root > 2
    assert row["high_outer"] == pytest.approx(0.05 + 0.02202 * root, abs=1e-5 * root)
    assert row["low_outer"] == pytest.approx(max(0.0, 0.05 - 0.0205 * root), abs=1e-5 * root)


def test_the_lines_run_from_the_smallest_to_the_largest_subject_through_every_one():
    rows = funnel_rows(ranking_of(ALIKE, 0.05), "stopped")

    assert rows["denominator"].is_sorted()
    assert (rows["denominator"].min(), rows["denominator"].max()) == (100, 1000)
    assert {n for _, n in ALIKE} <= set(rows["denominator"])
    assert np.all(np.diff(rows["high_outer"].to_numpy()) < 0)


@pytest.mark.parametrize("share", [None, 0.0, 1.0])
def test_without_a_share_to_compare_with_there_are_no_lines(share):
    assert funnel_rows(ranking_of(ALIKE, share), "stopped").is_empty()


def test_subjects_that_are_not_ranked_are_not_drawn():
    ranking = ranking_of(ALIKE, 0.05).with_columns(is_ranked=pl.lit(False))

    assert funnel_rows(ranking, "stopped").is_empty()
