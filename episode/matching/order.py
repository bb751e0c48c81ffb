"""Order-preserving alignment of two sequences with a score for every pair, summed over all alignments."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

KEEP_ABOVE = 0.35
"""A pair is kept where its probability gains more than this in expected right pairs."""


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
    backward = _prefix_sums(weights[::-1, ::-1])[::-1, ::-1]
    total = float(forward[n, m])
    with np.errstate(under="ignore"):
        posterior = np.exp(np.minimum(forward[:n, :m] + weights + backward[1:, 1:] - total, 0.0))
    return Ordered(posterior, _best_set(posterior - KEEP_ABOVE), total)


def evidence_in_order(weights: NDArray[np.float64]) -> float:
    """Only ``Ordered.evidence``, at half the cost."""
    return float(_prefix_sums(weights)[-1, -1]) if weights.size else 0.0


def _prefix_sums(weights: NDArray[np.float64]) -> NDArray[np.float64]:
    """``sums[i, j]``: log of the summed weights of all alignments of the first ``i`` with the first ``j``."""
    import numpy as np

    n, m = weights.shape
    sums = np.zeros((n + 1, m + 1))
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
