"""A sketch of the walk, as SVG: the squares it went through and how many finds came from each, no finer."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from xml.sax.saxutils import escape

from episode.day.national_grid import from_square, grid_square
from episode.drafting.finds import finds
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult

NAME = "walk.svg"
TILE, EDGE, HEAD, FOOT = 120.0, 24.0, 84.0, 44.0
MOST = 400
"""Squares; a walk that went through more is not drawn."""
_GRID = re.compile(r"([A-Z]{2}) ?(\d{1,5}) ?(\d{1,5})")
_DEGREES = re.compile(r"\s*(-?\d{1,3}(?:\.\d+)?)[,\s°]{1,4}(-?\d{1,3}(?:\.\d+)?)")
_STEPS = {2: 0.2, 4: 0.02, 6: 0.002, 8: 0.0002, 10: 0.00002}
_STYLE = """
svg { font: 14px "Gill Sans", "Source Sans 3", "Noto Sans", sans-serif; background: #eef1ee; color: #15232a; }
text { fill: currentColor; } .soft { fill: #4d5f66; } .tile { fill: #d5e2e4; stroke: #b2c8cc; }
.way { fill: none; stroke: #7d6a48; stroke-width: 3; stroke-linejoin: round; stroke-dasharray: 9 5; }
.finds { font-weight: 600; font-size: 18px; } .head { font: 500 22px "Iowan Old Style", Palatino, serif; }
@media (prefers-color-scheme: dark) { svg { background: #0f181b; color: #e4ebe8; } .soft { fill: #a2b2b5; }
.tile { fill: #16282f; stroke: #26414a; } .way { stroke: #a89c86; } }
"""

Square = tuple[int, int]
"""East and north, counted in squares."""


def walk_sketch(day: DayResult) -> str | None:
    """The sketch, or None where nobody knows the way or places are withheld.

    It is drawn from ``DayResult.walk`` and ``Moment.place`` alone, which are reduced already: a line from square to
    square says in which order they were crossed, not where in them anybody went.
    """
    figures = day.settings.grid_figures
    if day.walk is None or figures == 0:
        return None
    on_grid = day.walk.system == "national grid"
    lines = [[_square(*point, figures, on_grid=on_grid) for point in line] for line in day.walk.lines]
    counts: dict[Square, int] = {}
    for find in finds(day):
        spot = next((s for m in find.moments if (s := _spot(m.place, figures, on_grid=on_grid)) is not None), None)
        if spot is not None:
            counts[spot] = counts.get(spot, 0) + 1
    squares = {square for line in lines for square in line} | set(counts)
    if not squares:
        return None
    west, north = min(s[0] for s in squares), max(s[1] for s in squares)
    across, down = max(s[0] for s in squares) - west + 1, north - min(s[1] for s in squares) + 1
    if across * down > MOST:
        return None

    def corner(square: Square) -> tuple[float, float]:
        return EDGE + (square[0] - west) * TILE, HEAD + (north - square[1]) * TILE

    wide, high = max(2 * EDGE + across * TILE, 520.0), HEAD + down * TILE + FOOT
    title = escape(outgoing(day.settings.title, day.settings) or "The walk")
    told = [f"{_label(s, figures, on_grid=on_grid)}: {_finds(counts.get(s, 0))}" for s in sorted(squares)]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {high:.0f}" role="img" '
        'aria-labelledby="walk-t walk-d">',
        f'<title id="walk-t">{title}: the walk</title><desc id="walk-d">{escape("; ".join(told))}</desc>',
        f"<style>{_STYLE}</style>",
        f'<text class="head" x="{EDGE}" y="36">{title}</text>',
        f'<text class="soft" x="{EDGE}" y="60">{escape(_size(figures, on_grid=on_grid))}; north is up.</text>',
    ]
    for square in sorted(squares):
        x, y = corner(square)
        parts.append(f'<rect class="tile" x="{x:.1f}" y="{y:.1f}" width="{TILE:.1f}" height="{TILE:.1f}"/>')
    for line in lines:
        if len(line) > 1:
            points = [f"{x + TILE / 2:.1f} {y + TILE / 2:.1f}" for x, y in map(corner, line)]
            parts.append(f'<path class="way" d="M{"L".join(points)}"/>')
    for square in sorted(squares):
        x, y = corner(square)
        label = escape(_label(square, figures, on_grid=on_grid))
        parts.append(f'<text class="soft" x="{x + 8:.1f}" y="{y + 20:.1f}">{label}</text>')
        if counts.get(square):
            parts.append(f'<text class="finds" x="{x + 8:.1f}" y="{y + TILE - 12:.1f}">{_finds(counts[square])}</text>')
    return "\n".join([*parts, "</svg>"]) + "\n"


def _finds(count: int) -> str:
    return f"{count} find{'' if count == 1 else 's'}" if count else "no find"


def _unit(figures: int, *, on_grid: bool) -> float:
    return 10 ** (5 - figures // 2) if on_grid else _STEPS[figures]


def _square(first: float, second: float, figures: int, *, on_grid: bool) -> Square:
    """Of easting and northing, or of latitude and longitude."""
    unit = _unit(figures, on_grid=on_grid)
    east, north = (first, second) if on_grid else (second, first)
    return (math.floor(east / unit), math.floor(north / unit)) if on_grid else (round(east / unit), round(north / unit))


def _spot(place: str, figures: int, *, on_grid: bool) -> Square | None:
    if on_grid:
        read = _GRID.search(place)
        metres = from_square(read[1], read[2], read[3]) if read else None
        return _square(*metres, figures, on_grid=True) if metres else None
    degrees = _DEGREES.match(place)
    return _square(float(degrees[1]), float(degrees[2]), figures, on_grid=False) if degrees else None


def _label(square: Square, figures: int, *, on_grid: bool) -> str:
    unit = _unit(figures, on_grid=on_grid)
    if on_grid:
        try:
            return grid_square(square[0] * unit, square[1] * unit, figures)
        except ValueError:
            return ""
    return f"{square[1] * unit:.{figures // 2}f}, {square[0] * unit:.{figures // 2}f}"


def _size(figures: int, *, on_grid: bool) -> str:
    names: Iterable[tuple[int, str]] = ((2, "10 km"), (4, "1 km"), (6, "100 m"), (8, "10 m"), (10, "1 m"))
    if on_grid:
        return f"Squares of {dict(names)[figures]} on the National Grid"
    return f"Squares of {_STEPS[figures]:g} degrees"
