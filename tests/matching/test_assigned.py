"""What order left over goes where it fits best, whether or not the solver is asked."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from scipy.optimize import linear_sum_assignment

from episode.matching.pairing import _assigned

SPARSE = st.one_of(st.just(0.0), st.just(0.0), st.just(0.0), st.floats(0.01, 9), st.just(2.0))


@given(arrays(float, array_shapes(min_dims=2, max_dims=2, max_side=6), elements=SPARSE))
def test_no_other_pairs_are_worth_more(gains: np.ndarray):
    pairs = _assigned(gains)
    assert len({a for a, _ in pairs}) == len({b for _, b in pairs}) == len(pairs)
    best = gains[linear_sum_assignment(gains, maximize=True)].sum()
    assert np.isclose(sum(gains[a, b] for a, b in pairs), best)


def test_where_choices_hang_together_none_is_taken_alone():
    # The first find's best row is the only one of the second.
    assert set(_assigned(np.array([[5.0, 4.0], [3.0, 0.0]]))) == {(0, 1), (1, 0)}
    assert _assigned(np.array([[5.0, 4.0, 0.0], [0.0, 0.0, 0.0]])) == [(0, 0)]
