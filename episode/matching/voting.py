"""Which offsets a camera's clock may have: consensus of all pairs that could belong together."""

from __future__ import annotations

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
_WEAKEST_PAIR = -1.0


@dataclass(frozen=True)
class Mode:
    """An offset in seconds, its log prior density, and its log posterior (up to a constant)."""

    offset: float
    prior: float
    score: float


def modes(
    camera_at: NDArray[np.float64],
    logged_at: NDArray[np.float64],
    evidence: NDArray[np.float64],
    *,
    span: float,
    share: float = 1.0,
    extra: Iterable[float] = (),
    apart: tuple[float, ...] = (0.0,),
) -> list[Mode]:
    """The likeliest offsets of one camera, best first; always some, even where nothing speaks for any.

    Each log row is either written for one of the camera's moments, about then, or for something else, at any
    time of the day: a mixture whose likelihood is summed over rows. Every pair that could belong together
    proposes its own offset, and each is judged by all rows, so a few coincidences do not outweigh a
    consensus. ``share`` is the part of the day's moments that this camera filmed. Cameras that are tied to each
    other are searched as one, on the first one's time; ``apart`` are their offsets less that of the first.
    """
    import numpy as np

    timed = ~np.isnan(logged_at)
    times, strength = logged_at[timed], np.exp(evidence[:, timed])
    wanted = set(extra)
    proposals = {*(-shift for shift in apart), *wanted}
    if not times.size or not camera_at.size:
        bare = sorted(proposals)
        found = [Mode(o, p, p) for o, p in zip(bare, prior_of_tied(bare, apart).tolist(), strict=True)]
        return sorted(found, key=lambda mode: (-mode.score, mode.offset))
    lags = times[None, :] - camera_at[:, None]
    proposals |= set(_coarse(lags, strength, evidence[:, timed]))
    mixing = strength / (strength.sum(axis=0, keepdims=True) + 1.0)
    offsets = [p if p in wanted else _climb(p, lags, mixing) for p in sorted(proposals)]
    found = []
    for offset, prior in zip(offsets, prior_of_tied(offsets, apart).tolist(), strict=True):
        found.append(Mode(offset, prior, _log_likelihood(offset, lags, mixing, span, 0.8 * share) + prior))
    return _distinct(found)


def _coarse(lags: NDArray[np.float64], strength: NDArray[np.float64], evidence: NDArray[np.float64]) -> list[float]:
    """Offsets around which proposals gather, by a sliding window; the most gathered first."""
    import numpy as np

    usable = evidence > _WEAKEST_PAIR
    if not usable.any():
        return []
    share = np.where(usable, strength / (strength.sum(axis=0, keepdims=True) + 1.0), 0.0)
    order = np.argsort(lags[usable], kind="stable")
    sorted_lags, weight = lags[usable][order], share[usable][order]
    sums = np.concatenate([[0.0], np.cumsum(weight)])
    low = np.searchsorted(sorted_lags, sorted_lags - 2 * KERNEL_S, side="left")
    high = np.searchsorted(sorted_lags, sorted_lags + 2 * KERNEL_S, side="right")
    density = sums[high] - sums[low]
    chosen: list[float] = []
    for index in np.argsort(-density, kind="stable"):
        value = float(sorted_lags[index])
        if all(abs(value - other) > 2 * KERNEL_S for other in chosen):
            chosen.append(value)
            if len(chosen) == _COARSE:
                break
    return chosen


def _climb(offset: float, lags: NDArray[np.float64], mixing: NDArray[np.float64]) -> float:
    """Mean shift to the nearest summit (Comaniciu and Meer 2002; from memory)."""
    import numpy as np

    here = offset
    for _ in range(12):
        pull = mixing * np.exp(-0.5 * np.minimum(((lags - here) / KERNEL_S) ** 2, 200.0))
        total = float(pull.sum())
        if total < 1e-9:
            return here
        moved = float((pull * lags).sum()) / total
        if abs(moved - here) < 0.05:
            return moved
        here = moved
    return here


def _log_likelihood(
    offset: float, lags: NDArray[np.float64], mixing: NDArray[np.float64], span: float, belongs: float
) -> float:
    import numpy as np

    off = lags - offset
    near = 0.8 * np.exp(-0.5 * np.minimum((off / KERNEL_S) ** 2, 200.0)) / (KERNEL_S * 2.5066)
    wide = 0.2 * np.exp(-0.5 * np.minimum((off / (5 * KERNEL_S)) ** 2, 200.0)) / (5 * KERNEL_S * 2.5066)
    row = ((near + wide) * mixing).sum(axis=0) * span
    return float(np.log((1.0 - belongs) + belongs * row).sum())


def _distinct(found: list[Mode]) -> list[Mode]:
    chosen: list[Mode] = []
    for mode in sorted(found, key=lambda m: (-m.score, abs(m.offset), m.offset)):
        if all(abs(mode.offset - other.offset) > 2 * KERNEL_S for other in chosen):
            chosen.append(mode)
        if len(chosen) == MOST_MODES:
            break
    return chosen
