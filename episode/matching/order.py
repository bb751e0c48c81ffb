"""Order-preserving alignment of two sequences with a score for every pair, summed over all alignments."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

KEEP_ABOVE = 0.35
"""A pair is kept where its probability gains more than this in expected right pairs."""
_LITTLE = 0.5
"""Where more than this share of the rows changed, sums are made anew."""


@dataclass(frozen=True)
class Ordered:
    """``posterior[i, j]`` is the probability that ``i`` and ``j`` belong together; ``pairs`` the best consistent set.

    ``evidence`` is the log of the sum over all alignments of their weights: how well the two sequences fit
    at all, with nothing paired as the unit.
    """

    posterior: NDArray[np.float64]
    pairs: tuple[tuple[int, int], ...]
    evidence: float


def align_in_order(weights: NDArray[np.float64]) -> Ordered:
    """Align two sequences whose order agrees.

    ``weights[i, j]`` is the log odds that a pair belongs together as against both standing alone. An
    alignment is a set of pairs that rise in both sequences; its weight is the product of its pairs' odds.
    Sums over all alignments give each pair's probability (the forward-backward scheme of pair hidden
    Markov models, Durbin, Eddy, Krogh and Mitchison 1998, chapter 4; from memory), and the pairs kept
    are those with the greatest expected number of right ones (maximum expected accuracy).
    """
    import numpy as np

    n, m = weights.shape
    if not n or not m:
        return Ordered(np.zeros((n, m)), (), 0.0)
    forward = _prefix_sums(weights)
    backward = _suffix_sums(weights)
    total = float(forward[n, m])
    with np.errstate(under="ignore"):
        posterior = np.exp(np.minimum(forward[:n, :m] + weights + backward[1:, 1:] - total, 0.0))
    return Ordered(posterior, _best_set(posterior - KEEP_ABOVE), total)


class Evidence:
    """``Ordered.evidence`` of one table after another, in little time where only some rows beside each other differ.

    Then the sums of the rows before and after those are taken from an earlier table (two arrays of its size are kept).
    """

    def __init__(self) -> None:
        self._weights: NDArray[np.float64] | None = None
        self._forward: NDArray[np.float64] | None = None
        self._backward: NDArray[np.float64] | None = None

    def of(self, weights: NDArray[np.float64]) -> float:
        """The evidence of ``weights``, as in ``align_in_order``."""
        if not weights.size:
            return 0.0
        before, after = self._alike(weights)
        changed = len(weights) - before - after
        if self._weights is None or self._forward is None or changed > len(weights) * _LITTLE:
            self._weights, self._forward, self._backward = weights, _prefix_sums(weights), None
            return float(self._forward[-1, -1])
        if self._backward is None:
            self._backward = _suffix_sums(self._weights)
        upto = _prefix_sums(weights[before : before + changed], self._forward[before])[-1]
        return _joined(upto, self._backward[len(self._weights) - after])

    def _alike(self, weights: NDArray[np.float64]) -> tuple[int, int]:
        """How many rows at the begin, and of the others at the end, are those of the kept table."""
        kept = self._weights
        if kept is None or kept.shape[1] != weights.shape[1]:
            return 0, 0
        most = min(len(kept), len(weights))
        before = _leading(kept[:most], weights[:most])
        most -= before
        return before, _leading(kept[len(kept) - most :][::-1], weights[len(weights) - most :][::-1])


def _leading(one: NDArray[np.float64], other: NDArray[np.float64]) -> int:
    """How many of the first rows are the same."""
    import numpy as np

    apart = np.flatnonzero((one != other).any(axis=1))
    return int(apart[0]) if apart.size else len(one)


def _joined(forward: NDArray[np.float64], backward: NDArray[np.float64]) -> float:
    """The log of the sum over all alignments, from the sums of the rows before a place and of those after it.

    Those that use the first ``j`` columns and no fewer before it may use the others after it; summed by parts, so that
    nothing is taken from a number that it hardly differs from but what is small beside the whole.
    """
    import numpy as np

    with np.errstate(divide="ignore"):
        less = np.log(-np.expm1(np.minimum(backward[1:] - backward[:-1], 0.0)))
    terms = forward + backward
    terms[:-1] += less
    return float(np.logaddexp.reduce(terms))


def _suffix_sums(weights: NDArray[np.float64]) -> NDArray[np.float64]:
    """``sums[i, j]``: as ``_prefix_sums``, of all but the first ``i`` with all but the first ``j``."""
    return _prefix_sums(weights[::-1, ::-1])[::-1, ::-1]


def _prefix_sums(weights: NDArray[np.float64], begin: NDArray[np.float64] | None = None) -> NDArray[np.float64]:
    """``sums[i, j]``: log of the summed weights of all alignments of the first ``i`` with the first ``j``.

    ``begin`` is the first row of sums, where there are rows before those of ``weights``.
    """
    import numpy as np

    n, m = weights.shape
    sums = np.zeros((n + 1, m + 1))
    if begin is not None:
        sums[0] = begin
    for i in range(n):
        ending = weights[i] + sums[i, :m]
        sums[i + 1, 1:] = np.logaddexp(sums[i, 1:], np.logaddexp.accumulate(ending))
    return sums


def _best_set(gains: NDArray[np.float64]) -> tuple[tuple[int, int], ...]:
    import numpy as np

    n, m = gains.shape
    best = np.zeros((n + 1, m + 1))
    for i in range(n):
        best[i + 1, 1:] = np.maximum.accumulate(np.maximum(best[i, 1:], best[i, :m] + gains[i]))
    pairs: list[tuple[int, int]] = []
    i, j = n, m
    while i and j:
        if best[i, j] == best[i - 1, j]:
            i -= 1
        elif best[i, j] == best[i, j - 1]:
            j -= 1
        else:
            pairs.append((i - 1, j - 1))
            i, j = i - 1, j - 1
    return tuple(reversed(pairs))
