"""``track.gpx``: where the person walked, and the points that they marked.

GPX 1.0 and 1.1 (topografix.com/GPX/1/1/gpx.xsd): positions are WGS 84, latitude -90 to 90 and longitude -180 to
below 180, times are UTC "not local time" even where no zone is written, and a new track segment begins where
reception was lost.
"""

from __future__ import annotations

import datetime as dt
import re
from bisect import bisect_right
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET  # only to build, never to read: reading is defusedxml's

from episode.models import Fix, Problem, Track, Waypoint

if TYPE_CHECKING:
    from gpxpy.gpx import GPXTrackPoint, GPXWaypoint

NAME = "track.gpx"
LARGEST_BYTES = 20_000_000
MOST_POINTS = 200_000
LONGEST_NAME = 200
_TIME = re.compile(r"[0-9T:.,Z+ -]{8,40}", re.ASCII | re.IGNORECASE)
"""Letters and signs of an XML Schema dateTime."""
_DECIMAL = re.compile(r"\s*[+-]?(?:\d{1,3}(?:\.\d*)?|\.\d+)\s*", re.ASCII)


def read_track(folder: Path) -> tuple[Track, tuple[Problem, ...]]:
    """The day folder's track, and what was wrong with it; an empty one where there is none or it cannot be used.

    A point that cannot be used is left out and counted in a problem, the rest is kept. No problem says a position.
    """
    path = next((p for p in sorted(folder.iterdir()) if p.name.lower() == NAME and p.is_file()), None)
    if path is None:
        return Track(), ()
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except OSError as error:
        return _unusable(path, f"cannot be read ({error.strerror or error})", "Check its permissions.")
    if len(data) > LARGEST_BYTES:
        return _unusable(path, f"is larger than {LARGEST_BYTES // 1_000_000} MB", "Export the day's track alone.")
    return parse_track(data, path)


def parse_track(data: bytes, path: Path) -> tuple[Track, tuple[Problem, ...]]:
    """As ``read_track``, from the file's bytes."""
    import gpxpy
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import ParseError, fromstring

    again = "Export it again from the device or the app, as GPX."
    try:
        root = fromstring(data, forbid_dtd=True)
    except DefusedXmlException:
        return _unusable(path, "declares entities or a document type, which no track needs; it was not read", again)
    except ParseError as error:
        line, column = error.position
        return _unusable(path, f"is not well-formed XML (line {line}, column {column + 1})", again)
    except (ValueError, LookupError):
        return _unusable(path, "is in an encoding that cannot be read", "Save it as UTF-8.")
    if _local(root) != "gpx":
        return _unusable(path, "is XML, but not GPX", again)
    wrong: Counter[str] = Counter()
    sound, names = _sound(root, wrong)
    if sum(1 for _ in sound.iter("trkpt")) + sum(1 for _ in sound.iter("wpt")) > MOST_POINTS:
        return _unusable(path, f"has more than {MOST_POINTS:,} points", "Export the day's track alone.")
    gpx = gpxpy.parse(ET.tostring(sound, encoding="unicode"), version="1.1")
    segments = [_fixes(segment.points, wrong) for track in gpx.tracks for segment in track.segments]
    waypoints = tuple(
        Waypoint(
            name=name,
            at=_utc(point, wrong),
            lat=point.latitude,
            lon=point.longitude,
        )
        for name, point in zip(names, gpx.waypoints, strict=True)
    )
    track = Track(segments=tuple(segment for segment in segments if segment), waypoints=waypoints)
    return track, tuple(_told(path.name, track, wrong))


def _unusable(path: Path, what: str, remedy: str) -> tuple[Track, tuple[Problem, ...]]:
    return Track(), (Problem(where=path.name, what=what, remedy=remedy, level="error"),)


def _local(element: ET.Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _sound(root: ET.Element, wrong: Counter[str]) -> tuple[ET.Element, list[str]]:
    """The points of ``root`` that can be used, with their times, in a GPX document of our own; names of waypoints.

    Names go past the library, which looks for namespaces in a document's text before it parses it.
    """
    names: list[str] = []
    sound = ET.Element("gpx", version="1.1", creator="episode")
    waypoints: list[ET.Element] = []
    track = ET.Element("trk")
    segment = ET.SubElement(track, "trkseg")
    for element in root.iter():
        name = _local(element)
        if name in {"trk", "trkseg"}:
            segment = ET.SubElement(track, "trkseg")
        elif name == "rtept":
            wrong["planned"] += 1
        elif name in {"trkpt", "wpt"}:
            place = [element.get(key, "") for key in ("lat", "lon")]
            if not all(_DECIMAL.fullmatch(degrees) for degrees in place) or not _on_earth(*map(float, place)):
                wrong["place"] += 1
                continue
            point = ET.Element(name, lat=place[0].strip(), lon=place[1].strip())
            said = {_local(child): text for child in reversed(element) if (text := (child.text or "").strip())}
            if _TIME.fullmatch(said.get("time", "")):
                ET.SubElement(point, "time").text = said["time"]
            if name == "wpt":
                waypoints.append(point)
                names.append(" ".join(said.get("name", "")[: 5 * LONGEST_NAME].split())[:LONGEST_NAME])
            else:
                segment.append(point)
    sound.extend([*waypoints, track])
    return sound, names


def _on_earth(lat: float, lon: float) -> bool:
    return -90 <= lat <= 90 and -180 <= lon < 180


def _fixes(points: list[GPXTrackPoint], wrong: Counter[str]) -> tuple[Fix, ...]:
    """The fixes of a segment; where times fall back, as few as possible are left out so that they rise."""
    fixes = [Fix(at=_utc(p, wrong), lat=p.latitude, lon=p.longitude) for p in points]
    timed = [index for index, fix in enumerate(fixes) if fix.at is not None]
    times = [at for fix in fixes if (at := fix.at) is not None]
    kept = {timed[i] for i in _rising(times)}
    wrong["back"] += len(timed) - len(kept)
    return tuple(fix for index, fix in enumerate(fixes) if fix.at is None or index in kept)


def _rising(times: list[dt.datetime]) -> list[int]:
    """Indices of a longest run that never falls (patience sorting)."""
    tops: list[dt.datetime] = []
    ends: list[int] = []
    before: list[int] = []
    for index, at in enumerate(times):
        pile = bisect_right(tops, at)
        before.append(ends[pile - 1] if pile else -1)
        if pile == len(tops):
            tops.append(at)
            ends.append(index)
        else:
            tops[pile], ends[pile] = at, index
    run: list[int] = []
    index = ends[-1] if ends else -1
    while index >= 0:
        run.append(index)
        index = before[index]
    return run[::-1]


def _utc(point: GPXTrackPoint | GPXWaypoint, wrong: Counter[str]) -> dt.datetime | None:
    """A point's time, or None; the schema's UTC where no zone is written."""
    at = point.time
    if at is None:
        wrong["no time"] += 1
        return None
    try:
        return at.replace(tzinfo=dt.UTC) if at.tzinfo is None else at.astimezone(dt.UTC)
    except (ValueError, OverflowError):
        wrong["no time"] += 1
        return None


def _told(name: str, track: Track, wrong: Counter[str]) -> list[Problem]:
    fixes = [fix for segment in track.segments for fix in segment]
    told: list[Problem] = []

    def tell(what: str, remedy: str, level: str = "warning") -> None:
        told.append(Problem.model_validate({"where": name, "what": what, "remedy": remedy, "level": level}))

    if wrong["place"]:
        tell(f"{_points(wrong['place'])} with no usable position left out", "Nothing to do if the rest is there.")
    if wrong["back"]:
        tell(f"{_points(wrong['back'])} whose time goes back left out", "Look whether two days are in one file.")
    if fixes and not any(fix.at for fix in fixes):
        tell(
            "the track has no times, so it gives no place to a find",
            "Export it with times; a planned route has none.",
        )
    elif untimed := sum(fix.at is None for fix in fixes):
        tell(
            f"{_points(untimed)} without a time give no place to a find", "Nothing to do if the rest is there.", "note"
        )
    if not fixes and not track.waypoints:
        what = "holds a planned route only, not where anybody walked" if wrong["planned"] else "holds no point"
        tell(what, "Export the recorded track.")
    return told


def _points(number: int) -> str:
    return f"{number:,} point{'' if number == 1 else 's'}"
