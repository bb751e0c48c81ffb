"""The walk for drawing, no finer than the settings allow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from episode.day.national_grid import national_grid
from episode.matching.places import PRIVATE_M, Spot, apart, spot_at
from episode.models import Fix, Settings, Track, Walk

_STEPS = {2: (0.2, 1), 4: (0.02, 2), 6: (0.002, 3), 8: (0.0002, 4), 10: (0.00002, 5)}
"""Degrees, as ``privacy`` reduces coordinates, and their decimals."""


def blurred_walk(track: Track, settings: Settings, hidden: Sequence[Spot] = ()) -> Walk | None:
    """The track as squares it went through, without times; None where there is none or places are withheld.

    Points beside a ``hidden`` spot are left out and end the line. One that stays in a square is one point, so that
    nothing tells how long anybody was there.
    """
    figures = settings.grid_figures
    first = next((fix for segment in track.segments for fix in segment), None)
    if first is None or figures == 0:
        return None
    on_grid = national_grid(first.lat, first.lon) is not None
    lines = [line for segment in track.segments for line in _lines(segment, figures, hidden, on_grid=on_grid)]
    return Walk(system="national grid" if on_grid else "latitude and longitude", lines=tuple(lines))


def _lines(
    segment: Sequence[Fix], figures: int, hidden: Sequence[Spot], *, on_grid: bool
) -> Iterator[tuple[tuple[float, float], ...]]:
    squares = (_square(fix, figures, hidden, on_grid=on_grid) for fix in segment)
    for shown, run in groupby(squares, key=lambda square: square is not None):
        if shown:
            yield tuple(square for square, _ in groupby(run) if square is not None)


def _square(fix: Fix, figures: int, hidden: Sequence[Spot], *, on_grid: bool) -> tuple[float, float] | None:
    spot = spot_at(fix.lat, fix.lon)
    if (spot.grid is not None) != on_grid or any(apart(spot, other) <= PRIVATE_M + other.size for other in hidden):
        return None
    if spot.grid is not None:
        size = 10 ** (5 - figures // 2)
        return spot.grid[0] // size * size, spot.grid[1] // size * size
    step, decimals = _STEPS[figures]
    return round(round(fix.lat / step) * step, decimals), round(round(fix.lon / step) * step, decimals)
