"""How surely a clock's offset is the right one among those that the day would also allow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import erf, exp, sqrt

from episode.matching.slips import DAY_S, HOUR_S

_SURE = 0.95
_ONE_PLACE_S = 60.0
# Where a clock may be if none of its finds is in the log: half widths that hold these shares of what is wrong
# with clocks (``slips``), about the camera's own time. An estimate of the author, no source.
_ELSEWHERE = ((0.60, 180.0), (0.16, 1800.0), (0.12, HOUR_S + 180.0), (0.09, DAY_S + HOUR_S), (0.03, 31 * DAY_S))


@dataclass(frozen=True)
class Candidate:
    """An offset in seconds; ``score`` is its log posterior density but for a constant."""

    offset: float
    score: float


@dataclass(frozen=True)
class Doubt:
    """``sure`` is the probability of the chosen offset (give or take its own error), ``nowhere`` that none fits.

    ``error_s`` is half the width of an interval about the chosen offset that holds 95 %; ``rival`` is the next
    likeliest offset, if it counts.
    """

    sure: float
    nowhere: float
    error_s: float
    rival: float | None


def doubt(
    chosen: float, error_s: float, candidates: Sequence[Candidate], nowhere: float, *, chance: float = 1.0
) -> Doubt:
    """Weigh a chosen offset against all others.

    ``candidates`` hold the chosen one too. ``error_s`` is its own 95 % half width; ``nowhere`` the log evidence
    if the camera's finds have nothing to do with the log's times, on the scale of the scores with the prior
    summed out. Each candidate counts with its density times its width; ``chance`` is the probability that at
    least one of the pairs that the chosen offset was measured on is right.
    """
    own = max(error_s / 1.96, 1.0)
    width = own * sqrt(2 * 3.141592653589793)
    top = max([nowhere, *(c.score for c in candidates)])
    near = _ONE_PLACE_S + error_s
    masses = [(c.offset, exp(max(c.score - top, -700.0)) * width) for c in candidates]
    total = exp(max(nowhere - top, -700.0)) + sum(mass for _, mass in masses)
    masses = [(offset, mass * (chance if abs(offset - chosen) <= near else 1.0)) for offset, mass in masses]
    lost = total - sum(mass for _, mass in masses)
    sure = sum(mass for offset, mass in masses if abs(offset - chosen) <= near) / total
    others = sorted(((mass / total, offset) for offset, mass in masses if abs(offset - chosen) > near), reverse=True)
    rival = others[0][1] if others and others[0][0] > 1 - _SURE else None
    if sure >= _SURE and lost / total <= (1 - _SURE) / 2:
        return Doubt(sure, lost / total, error_s, rival)

    def held(radius: float) -> float:
        inside = sum(mass * _within(chosen, offset, own, radius) for offset, mass in masses)
        return (inside + lost * sum(share for share, reach in _ELSEWHERE if reach + abs(chosen) <= radius)) / total

    low, high = error_s, 400 * DAY_S + abs(chosen)
    while high - low > 1.0:
        middle = (low + high) / 2
        low, high = (low, middle) if held(middle) >= _SURE else (middle, high)
    return Doubt(sure, lost / total, max(high, error_s), rival)


def _within(chosen: float, offset: float, own: float, radius: float) -> float:
    """How much of a candidate's own spread lies within a radius of the chosen offset."""
    gap = abs(offset - chosen)
    if gap < 1.0:
        return erf(radius / own / sqrt(2))
    return 0.5 * (erf((radius + gap) / own / sqrt(2)) + erf((radius - gap) / own / sqrt(2)))
