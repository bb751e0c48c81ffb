"""The strip's time scale: even where there is footage or a log row, drawn short where hours pass without."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

LONG_GAP_S = 300.0
"""A stretch without footage as long as this is said to be one."""
_GAP_SHARE = 0.12
"""No gap is drawn wider than this share of all that is drawn evenly."""
_STEPS_MIN = (1, 2, 5, 10, 15, 30, 60, 120, 240)
_LABEL = 52.0


@dataclass(frozen=True)
class Gap:
    """Time of which there is no footage, where it is drawn."""

    x: float
    width: float
    says: str


class Scale:
    """Wall-clock time to a place between ``left`` and ``right``; never runs backwards."""

    def __init__(
        self, covered: Sequence[tuple[datetime, datetime]], times: Sequence[datetime], left: float, right: float
    ) -> None:
        """``covered`` are the clips' beginnings and ends, ``times`` what else has to have a place."""
        first = min([*(begin for begin, _ in covered), *times])
        last = max([*(end for _, end in covered), *times])
        self.gaps_between = _gaps(covered)
        marks = sorted({first, last, *itertools.chain.from_iterable(self.gaps_between)})
        pieces = [(a, b, (a, b) in self.gaps_between) for a, b in itertools.pairwise(marks)]
        even = sum((b - a).total_seconds() for a, b, gap in pieces if not gap) or 1.0
        weights = [min((b - a).total_seconds(), even * _GAP_SHARE if gap else 1e12) for a, b, gap in pieces]
        unit = (right - left) / (sum(weights) or 1.0)
        self._pieces: list[tuple[datetime, datetime, float, float]] = []
        self.stretches: list[tuple[datetime, datetime]] = []
        x = left
        for (begin, end, gap), weight in zip(pieces, weights, strict=True):
            self._pieces.append((begin, end, x, x + weight * unit))
            x += weight * unit
            if not gap:
                self.stretches.append((begin, end))
        self._left = left

    def __call__(self, moment: datetime) -> float:
        """Where ``moment`` is drawn."""
        for begin, end, x, until in self._pieces:
            if moment <= end:
                share = max((moment - begin) / (end - begin), 0.0)
                return round(x + share * (until - x), 2)
        return round(self._pieces[-1][3], 2) if self._pieces else self._left

    def ticks(self, zone: tzinfo) -> list[tuple[float, str]]:
        """Whole minutes of the clock where time runs evenly, as many as there is room for."""
        minutes = sum((end - begin).total_seconds() for begin, end in self.stretches) / 60
        step = next((s for s in _STEPS_MIN if minutes / s <= 14), _STEPS_MIN[-1])
        found: list[tuple[float, str]] = []
        for begin, end in self.stretches:
            at = begin.astimezone(zone).replace(second=0, microsecond=0)
            at -= timedelta(minutes=(at.hour * 60 + at.minute) % step)
            while at <= end:
                x = self(at)
                if at >= begin and (not found or x - found[-1][0] >= _LABEL):
                    found.append((x, f"{at:%H:%M}"))
                at += timedelta(minutes=step)
        return found

    def gaps(self) -> list[Gap]:
        """The long stretches without footage."""
        return [
            Gap(self(a), round(self(b) - self(a), 2), f"{round((b - a).total_seconds() / 60)} min not filmed")
            for a, b in self.gaps_between
        ]


def _gaps(covered: Sequence[tuple[datetime, datetime]]) -> list[tuple[datetime, datetime]]:
    spans = sorted(covered)
    found, until = [], spans[0][1]
    for begin, end in spans[1:]:
        if (begin - until).total_seconds() >= LONG_GAP_S:
            found.append((until, begin))
        until = max(until, end)
    return found
