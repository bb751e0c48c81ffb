"""Where each moment's find was picked up: the log's own word first, then its photograph, a waypoint, the track.

Exact positions come in and only reduced ones go out. A spot is told in one form only (as the log has it, or as a
square): the squares of two systems laid over each other would tell more than either.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from math import cos, hypot, radians

from episode.day.national_grid import from_square, grid_square, national_grid
from episode.day.privacy import WITHHELD, blur_grid, blur_text
from episode.matching.meaning import WORDS_IN_COMMON
from episode.models import Clip, Clock, LogEntry, Matched, Moment, Photos, Settings, Track, Waypoint

GAP_S = 300.0
"""Fixes of one stretch this far apart are joined by a straight line."""
NEAR_S = 120.0
"""How far in time a lone fix may be."""
WAYPOINT_S = 90.0
PRIVATE_M = 150.0
"""A spot this near to one at a private place is taken to be there (common practice, no source)."""
_GRID = re.compile(r"([A-Za-z]{2})[ \t]?(?:(\d{1,5})[ \t,./-]{1,2}(\d{1,5})|(\d{2,10}))")
_IRISH = re.compile(r"[A-HJ-Za-hj-z][ \t]?\d{1,5}[ \t,./-]{0,2}\d{1,5}")
_DECIMAL = re.compile(r"([-+]?\d{1,2}\.\d+)°?\s*([NS]?)\s*[,;/ ]\s*([-+]?\d{1,3}\.\d+)°?\s*([EW]?)", re.IGNORECASE)
_WORD = re.compile(r"\w+")
_NUMBERED = re.compile(r"(?:find|no|nr|number|sf|small find|#)[\s.:#-]*", re.IGNORECASE)


@dataclass(frozen=True)
class Spot:
    """A position: on the grid in metres, or in degrees. ``size`` is the side of the square it is known to."""

    lat: float = field(default=0.0, repr=False)
    lon: float = field(default=0.0, repr=False)
    grid: tuple[float, float] | None = field(default=None, repr=False)
    size: float = 0.0


@dataclass(frozen=True)
class _Found:
    text: str
    source: str
    spot: Spot | None


def placed(
    matched: Matched,
    log: Sequence[LogEntry],
    clips: Sequence[Clip],
    track: Track,
    photos: Photos,
    settings: Settings,
) -> Matched:
    """``matched`` with each moment's place, no finer than ``settings.grid_figures``.

    What is said or logged to be at a private place, or lies beside a spot that is, gets none.
    """
    rows: dict[str, LogEntry] = {}
    for row in log:
        rows.setdefault(row.find.strip(), row)
    marks = waypoints_of(log, track.waypoints)
    hidden = private_spots(log, photos, marks, settings)
    unsure = _untimed(clips, matched.clocks) if log else set()
    moments = []
    for moment in matched.moments:
        mine = rows.get(moment.find or "")
        found = _find(moment, mine, marks, photos, track, settings, told=bool(moment.find) or moment.clip not in unsure)
        if found and (_at_private(moment, mine, settings) or _beside(found.spot, hidden)):
            found = _Found("", "withheld: a private place", None)
        changes: dict[str, object] = {"why": _without_private(moment.why, mine, settings)} if mine else {}
        if found:
            changes |= {"place": found.text, "place_from": found.source}
        moments.append(moment.model_copy(update=changes))
    return matched.model_copy(update={"moments": tuple(moments)})


def _without_private(why: tuple[str, ...], row: LogEntry, settings: Settings) -> tuple[str, ...]:
    """Reasons without the words that the row has from a spot or a private place: they are compared one by one."""
    text = "; ".join((row.object, row.place, row.grid, row.notes, row.maker, row.period, row.material)).casefold()
    hidden = set(_WORD.findall(text)) - set(_WORD.findall(blur_text(text, settings).casefold()))
    told = []
    for reason in why:
        head, common, words = reason.partition(WORDS_IN_COMMON)
        kept = [word for word in words.split(", ") if word not in hidden] if common and not head else None
        if kept is None:
            told.append(reason)
        elif kept:
            told.append(WORDS_IN_COMMON + ", ".join(kept))
    return tuple(told)


def _untimed(clips: Sequence[Clip], clocks: Sequence[Clock]) -> set[str]:
    """Clips whose clock nobody knows: their moments cannot be looked up on the track, unless a log entry vouches."""
    unknown = {(c.camera, c.clip) for c in clocks if not c.known}
    return {c.name for c in clips if (c.camera, None) in unknown or (c.camera, c.name) in unknown}


def _find(
    moment: Moment,
    row: LogEntry | None,
    marks: dict[int, tuple[Waypoint, str]],
    photos: Photos,
    track: Track,
    settings: Settings,
    *,
    told: bool,
) -> _Found | None:
    if settings.grid_figures == 0:
        return None
    if row is not None:
        known, spot = read_spot(row.grid)
        if known:
            return _Found(blur_grid(row.grid.strip(), settings.grid_figures), "log", spot)
        for photo in photos.by_row.get(row.row, ()):
            if photo.lat is not None and photo.lon is not None:
                return _square(photo.lat, photo.lon, "photograph", settings)
        if row.row in marks:
            mark, why = marks[row.row]
            return _square(mark.lat, mark.lon, why, settings)
    at = position(track, moment.at) if told else None
    if at is None:
        return None
    lat, lon, gap = at
    return _square(lat, lon, f"track, {gap:.0f} s from its nearest point", settings)


def _square(lat: float, lon: float, source: str, settings: Settings) -> _Found:
    return _Found(reduced(lat, lon, settings.grid_figures), source, spot_at(lat, lon))


def reduced(lat: float, lon: float, figures: int) -> str:
    """A position no finer than ``figures``: its National Grid square in Great Britain, else degrees."""
    if figures == 0:
        return ""
    on_grid = national_grid(lat, lon)
    if on_grid is not None:
        return grid_square(*on_grid, figures)
    decimals = {8: 4, 10: 5}.get(figures, 6)  # 10 m and 1 m; coarser ones are set to multiples
    return blur_grid(f"{lat:.{decimals}f}, {lon:.{decimals}f}", figures)


def spot_at(lat: float, lon: float) -> Spot:
    """A position as a spot."""
    return Spot(lat, lon, national_grid(lat, lon))


def read_spot(cell: str) -> tuple[bool, Spot | None]:
    """Whether the log's cell is a grid reference or coordinates and nothing else, and the spot where it can be laid."""
    text = cell.strip()
    if match := _DECIMAL.fullmatch(text):
        lat = float(match[1]) * (-1 if match[2].upper() == "S" else 1)
        lon = float(match[3]) * (-1 if match[4].upper() == "W" else 1)
        sound = abs(lat) <= 90 and abs(lon) <= 180
        return sound, spot_at(lat, lon) if sound else None
    if match := _GRID.fullmatch(text):
        run = match[4] or ""
        east, north = (run[: len(run) // 2], run[len(run) // 2 :]) if run else (match[2], match[3])
        corner = from_square(match[1], east, north)
        return corner is not None, Spot(grid=corner, size=10.0 ** (5 - len(east))) if corner else None
    return bool(_IRISH.fullmatch(text)), None


def position(track: Track, at: datetime) -> tuple[float, float, float] | None:
    """Latitude and longitude at a time, and how many seconds the nearest fix is from it; None where none is near.

    Between two fixes of one stretch no more than ``GAP_S`` apart on a straight line, else the fix within ``NEAR_S``.
    """
    best: tuple[float, float, float] | None = None
    for segment in track.segments:
        fixes = [fix for fix in segment if fix.at is not None]
        times = [fix.at.timestamp() for fix in fixes if fix.at is not None]
        moment = at.timestamp()
        after = bisect_left(times, moment)
        near = [index for index in (after - 1, after) if 0 <= index < len(times)]
        if not near:
            continue
        gap = min(abs(times[index] - moment) for index in near)
        if len(near) == 2 and times[after] - times[after - 1] <= GAP_S:
            share = (moment - times[after - 1]) / max(times[after] - times[after - 1], 1e-9)
            a, b = fixes[after - 1], fixes[after]
            east = (b.lon - a.lon + 180) % 360 - 180
            found = (a.lat + share * (b.lat - a.lat), (a.lon + share * east + 180) % 360 - 180, gap)
        elif gap <= NEAR_S:
            fix = fixes[min(near, key=lambda index: abs(times[index] - moment))]
            found = (fix.lat, fix.lon, gap)
        else:
            continue
        if best is None or gap < best[2]:
            best = found
    return best


def waypoints_of(log: Sequence[LogEntry], waypoints: Sequence[Waypoint]) -> dict[int, tuple[Waypoint, str]]:
    """For rows, by number in the file, the waypoint that bears the find's number, else the one marked at its time.

    A number that two rows or two waypoints bear ties nothing; a waypoint is tied to one row only.
    """
    tied: dict[int, tuple[Waypoint, str]] = {}
    free = list(waypoints)
    bears = Counter(row.find.strip().casefold() for row in log)
    for row in log if waypoints else ():
        bearing = [w for w in waypoints if _bears(w.name, row)]
        alone = bears[row.find.strip().casefold()] == 1
        if len(bearing) == 1 and alone and bearing[0] in free:
            tied[row.row] = (bearing[0], "waypoint of that number")
            free.remove(bearing[0])
    near = sorted(
        (abs((w.at - row.time).total_seconds()), row.row, index)
        for row in log
        if row.row not in tied and row.time is not None
        for index, w in enumerate(free)
        if w.at is not None and abs((w.at - row.time).total_seconds()) <= WAYPOINT_S
    )
    used: set[int] = set()
    for gap, number, index in near:
        if number not in tied and index not in used:
            tied[number] = (free[index], f"waypoint, {gap:.0f} s from its log time")
            used.add(index)
    return tied


def _bears(name: str, row: LogEntry) -> bool:
    """``8``, ``find 8``, ``SF-8``, ``8 sixpence`` (a word of the row's object) all bear find 8."""
    number = row.find.strip().casefold().lstrip("0")
    if not number:
        return False
    told = name.strip().casefold()
    bare = _NUMBERED.sub("", told, count=1) if _NUMBERED.match(told) else told
    for text in (told.lstrip("0"), bare.strip().lstrip("0")):
        if text == number:
            return True
        if text.startswith(number) and not text[len(number)].isalnum():
            rest = set(re.findall(r"\w{3,}", text[len(number) :]))
            if rest and rest & set(re.findall(r"\w{3,}", row.object.casefold())):
                return True
    return False


def private_spots(
    log: Sequence[LogEntry],
    photos: Photos,
    marks: dict[int, tuple[Waypoint, str]],
    settings: Settings,
) -> tuple[Spot, ...]:
    """Exact spots that the log says are at private places."""
    spots: list[Spot] = []
    for row in log:
        if not _names_private((row.place, row.grid, row.notes), settings):
            continue
        spot = read_spot(row.grid)[1]
        spots += [spot] if spot else []
        spots += [
            spot_at(p.lat, p.lon) for p in photos.by_row.get(row.row, ()) if p.lat is not None and p.lon is not None
        ]
        spots += [spot_at(marks[row.row][0].lat, marks[row.row][0].lon)] if row.row in marks else []
    for mark in marks.values():
        if _names_private((mark[0].name,), settings):
            spots.append(spot_at(mark[0].lat, mark[0].lon))
    return tuple(spot for spot in spots if spot.size <= PRIVATE_M)


def _names_private(texts: Sequence[str], settings: Settings) -> bool:
    return any(place and WITHHELD in blur_text(place, settings) for place in texts)


def _at_private(moment: Moment, row: LogEntry | None, settings: Settings) -> bool:
    logged = (row.place, row.grid, row.notes) if row else ()
    return _names_private((*logged, *(m.quote for m in moment.mentions)), settings)


def _beside(spot: Spot | None, hidden: Sequence[Spot]) -> bool:
    return spot is not None and any(apart(spot, other) <= PRIVATE_M + other.size for other in hidden)


def apart(one: Spot, other: Spot) -> float:
    """Metres between two spots, infinite where they are on no common ground."""
    if one.grid and other.grid:
        return hypot(one.grid[0] - other.grid[0], one.grid[1] - other.grid[1])
    if one.grid or other.grid:
        return float("inf")
    metres = 111_320.0  # a degree of the meridian
    return metres * hypot(one.lat - other.lat, (one.lon - other.lon) * cos(radians(one.lat)))
