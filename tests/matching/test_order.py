"""The sums over alignments against plain enumeration."""

from itertools import combinations

import numpy as np
import pytest

from episode.matching.order import KEEP_ABOVE, align_in_order, evidence_in_order


def every_alignment(n, m):
    for size in range(min(n, m) + 1):
        for ours in combinations(range(n), size):
            for theirs in combinations(range(m), size):
                yield tuple(zip(ours, theirs, strict=True))


@pytest.mark.parametrize("seed", range(6))
def test_posterior_and_best_set_agree_with_enumeration(seed):
    dice = np.random.default_rng(seed)
    n, m = dice.integers(1, 5, size=2)
    weights = dice.normal(0, 3, size=(n, m))
    alignments = list(every_alignment(n, m))
    mass = np.array([np.exp(sum(weights[p] for p in a)) for a in alignments])
    expected = np.zeros((n, m))
    for share, alignment in zip(mass / mass.sum(), alignments, strict=True):
        for pair in alignment:
            expected[pair] += share
    found = align_in_order(weights)
    np.testing.assert_allclose(found.posterior, expected, atol=1e-9)
    assert found.evidence == pytest.approx(np.log(mass.sum()))
    assert evidence_in_order(weights) == pytest.approx(np.log(mass.sum()))
    gains = [sum(expected[p] - KEEP_ABOVE for p in a) for a in alignments]
    assert sum(expected[p] - KEEP_ABOVE for p in found.pairs) == pytest.approx(max(gains))


def test_nothing_to_align():
    assert align_in_order(np.zeros((0, 3))).pairs == ()
    assert align_in_order(np.zeros((3, 0))).evidence == 0.0
