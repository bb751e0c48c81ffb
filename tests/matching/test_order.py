"""The sums over alignments against plain enumeration."""

from itertools import combinations

import numpy as np
import pytest

from episode.matching.order import KEEP_ABOVE, Evidence, align_in_order


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
    assert Evidence().of(weights) == pytest.approx(np.log(mass.sum()))
    gains = [sum(expected[p] - KEEP_ABOVE for p in a) for a in alignments]
    assert sum(expected[p] - KEEP_ABOVE for p in found.pairs) == pytest.approx(max(gains))


def test_nothing_to_align():
    assert align_in_order(np.zeros((0, 3))).pairs == ()
    assert align_in_order(np.zeros((3, 0))).evidence == 0.0
    assert Evidence().of(np.zeros((3, 0))) == 0.0


@pytest.mark.parametrize("spread", [1, 30, 800])
def test_evidence_of_tables_that_differ_in_some_rows_is_each_ones_own(spread):
    dice = np.random.default_rng(spread)
    for _ in range(40):
        rows, columns = dice.integers(1, 24, size=2)
        table, evidence = dice.normal(-2, spread, size=(rows, columns)), Evidence()
        for _ in range(6):
            assert evidence.of(table) == pytest.approx(align_in_order(table).evidence, rel=1e-12, abs=1e-12)
            first, last = np.sort(dice.integers(0, len(table) + 1, size=2))
            fresh = dice.normal(-2, spread, size=(dice.integers(0, 5), columns))
            table = np.vstack([table[:first], fresh, table[last if dice.random() < 0.3 else first :]])
            if dice.random() < 0.1:
                table = table[:, : max(1, columns - 1)]
                columns = table.shape[1]
        assert evidence.of(np.zeros((0, columns))) == 0.0
