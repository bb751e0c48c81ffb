"""Which offsets a camera's clock may have: consensus of all pairs that could belong together."""

from __future__ import annotations

from bisect import bisect
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from episode.matching.slips import prior_of_tied

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

KERNEL_S = 30.0
MOST_MODES = 10
_COARSE = 160
_WIDE = 5.0
"""How many times wider than the kernel the wide part of the mixture is: some rows are written much later."""
_WEAKEST_PAIR = -1.0


@dataclass(frozen=True)
class Mode:
    """An offset in seconds, its log prior density, and its log posterior (up to a constant)."""

    offset: float
    prior: float
    score: float


class Votes:
    """What all pairs say on the clock of one camera, or of several that are tied to each other.

    Each log row is either written for one of the camera's moments, about then, or for something else, at any
    time of the day: a mixture whose likelihood is summed over rows. Every pair that could belong together
    proposes its own offset, and each is judged by all rows, so a few coincidences do not outweigh a consensus.
    """

    def __init__(
        self,
        camera_at: NDArray[np.float64],
        logged_at: NDArray[np.float64],
        evidence: NDArray[np.float64],
        *,
        span: float,
        share: float = 1.0,
        apart: tuple[float, ...] = (0.0,),
    ) -> None:
        """``share`` is the part of the day's moments that these cameras filmed.

        Cameras that are tied are searched as one, on the first one's time; ``apart`` are their offsets less that of
        the first.
        """
        import numpy as np

        timed = ~np.isnan(logged_at)
        times, strength = logged_at[timed], np.exp(evidence[:, timed])
        self._span, self._belongs, self._apart = span, 0.8 * share, apart
        self._rows = times.size if camera_at.size else 0
        if not self._rows:
            return
        lags = times[None, :] - camera_at[:, None]
        mixing = strength / (strength.sum(axis=0, keepdims=True) + 1.0)
        order = np.argsort(lags, axis=None, kind="stable")
        self._lags, self._mixing = lags.ravel()[order], mixing.ravel()[order]
        self._row = order % self._rows
        usable = evidence[:, timed].ravel()[order] > _WEAKEST_PAIR
        self._proposals = {*(-shift for shift in apart), *_coarse(self._lags[usable], self._mixing[usable])}
        self._climbed: dict[float, float] = {}

    def modes(self, extra: Iterable[float] = ()) -> list[Mode]:
        """The likeliest offsets, best first; always some, even where nothing speaks for any.

        ``extra`` are offsets to judge beside them.
        """
        wanted = set(extra)
        if not self._rows:
            bare = sorted({*(-shift for shift in self._apart), *wanted})
            found = [Mode(o, p, p) for o, p in zip(bare, prior_of_tied(bare, self._apart).tolist(), strict=True)]
            return sorted(found, key=lambda mode: (-mode.score, mode.offset))
        offsets = [p if p in wanted else self._climb(p) for p in sorted(self._proposals | wanted)]
        found = []
        for offset, prior in zip(offsets, prior_of_tied(offsets, self._apart).tolist(), strict=True):
            found.append(Mode(offset, prior, self._log_likelihood(offset) + prior))
        return _distinct(found)

    def _climb(self, offset: float) -> float:
        """Mean shift to the nearest summit (Comaniciu and Meer 2002; from memory)."""
        if offset not in self._climbed:
            self._climbed[offset] = self._summit(offset)
        return self._climbed[offset]

    def _summit(self, offset: float) -> float:
        import numpy as np

        here = offset
        for _ in range(12):
            near = self._within(here, KERNEL_S)
            lags = self._lags[near]
            pull = self._mixing[near] * np.exp(-0.5 * ((lags - here) / KERNEL_S) ** 2)
            total = float(pull.sum())
            if total < 1e-9:
                return here
            moved = float((pull * lags).sum()) / total
            if abs(moved - here) < 0.05:
                return moved
            here = moved
        return here

    def _log_likelihood(self, offset: float) -> float:
        import numpy as np

        inside = self._within(offset, _WIDE * KERNEL_S)
        off = (self._lags[inside] - offset) / KERNEL_S
        near = 0.8 * np.exp(-0.5 * off**2) / (KERNEL_S * 2.5066)
        wide = 0.2 * np.exp(-0.5 * (off / _WIDE) ** 2) / (_WIDE * KERNEL_S * 2.5066)
        weights = (near + wide) * self._mixing[inside]
        row = np.bincount(self._row[inside], weights=weights, minlength=self._rows) * self._span
        return float(np.log((1.0 - self._belongs) + self._belongs * row).sum())

    def _within(self, offset: float, spread: float) -> slice:
        """The pairs near an offset: what lies further than ten standard deviations adds less than a double can tell."""
        import numpy as np

        low, high = np.searchsorted(self._lags, (offset - 10 * spread, offset + 10 * spread))
        return slice(int(low), int(high))


def _coarse(lags: NDArray[np.float64], weight: NDArray[np.float64]) -> list[float]:
    """Offsets around which proposals (``lags`` in their order) gather, by a sliding window; the most gathered first."""
    import numpy as np

    sums = np.concatenate([[0.0], np.cumsum(weight)])
    low = np.searchsorted(lags, lags - 2 * KERNEL_S, side="left")
    high = np.searchsorted(lags, lags + 2 * KERNEL_S, side="right")
    density = sums[high] - sums[low]
    chosen: list[float] = []
    for value in lags[np.argsort(-density, kind="stable")].tolist():
        place = bisect(chosen, value)
        if all(abs(value - other) > 2 * KERNEL_S for other in chosen[max(0, place - 1) : place + 1]):
            chosen.insert(place, value)
            if len(chosen) == _COARSE:
                break
    return chosen


def _distinct(found: list[Mode]) -> list[Mode]:
    chosen: list[Mode] = []
    for mode in sorted(found, key=lambda m: (-m.score, abs(m.offset), m.offset)):
        if all(abs(mode.offset - other.offset) > 2 * KERNEL_S for other in chosen):
            chosen.append(mode)
        if len(chosen) == MOST_MODES:
            break
    return chosen
