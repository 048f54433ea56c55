"""Y. Benjamini and Y. Hochberg, J. R. Stat. Soc. B 57 (1995) 289-300, section 3.2: fifteen p-values
of a trial of two treatments. Their procedure takes four at 5 %, Bonferroni's three.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.multitest import multipletests

from pipeline.measure.multiplicity import benjamini_hochberg

PRINTED = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262]
PRINTED += [0.5719, 0.6528, 0.7590, 1.0000]


def test_four_of_fifteen_are_taken_and_bonferroni_takes_three():
    adjusted = benjamini_hochberg(PRINTED)

    assert (adjusted <= 0.05).sum() == 4
    assert (np.array(PRINTED) * 15 <= 0.05).sum() == 3
    assert adjusted[:6] == pytest.approx(
        [0.0015, 0.0030, 0.0095, 0.035625, 0.0603, 0.06386], abs=5e-6
    )


@given(st.lists(st.floats(0, 1), min_size=1, max_size=60))
def test_statsmodels_adjusts_the_same(p):
    assert benjamini_hochberg(p) == pytest.approx(multipletests(p, method="fdr_bh")[1])


@given(st.permutations(PRINTED))
def test_the_order_of_the_questions_does_not_matter(p):
    by_value = dict(zip(PRINTED, benjamini_hochberg(PRINTED), strict=True))

    assert benjamini_hochberg(p).tolist() == [by_value[one] for one in p]


def test_what_was_not_asked_is_no_comparison():
    adjusted = benjamini_hochberg([0.01, np.nan, 0.04])

    assert adjusted == pytest.approx([0.02, np.nan, 0.04], nan_ok=True)
    assert benjamini_hochberg([]).tolist() == []
