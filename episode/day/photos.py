"""Photographs that the log names: which file each name means, and what the file says about when and where."""

from __future__ import annotations

import datetime as dt
import math
import re
import unicodedata
import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from episode.models import LogEntry, Photo, Photos, Problem, Settings

_Tags = Mapping[int, Any]

FOLDER = "photos"
ENDINGS = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".heic", ".heif")
LARGEST_BYTES = 200_000_000
MOST_FILES = 20_000
_MOST_TO_DECODE = 50_000_000
_FORMATS = ("JPEG", "PNG", "TIFF", "HEIF")
_BETWEEN = re.compile(r"[;,\n]+")
_STAMP = re.compile(r"(\d{4})[:\-/](\d\d)[:\-/](\d\d)[ T](\d\d):(\d\d):(\d\d)", re.ASCII)
_DAY = re.compile(r"(\d{4})[:\-](\d\d)[:\-](\d\d)", re.ASCII)
_OFFSET = re.compile(r"([+-])(\d\d):(\d\d)", re.ASCII)

# Tags as CIPA DC-008 (Exif 2.32) numbers them.
_ORIENTATION, _EXIF_IFD, _GPS_IFD = 0x0112, 0x8769, 0x8825
_TAKEN = ((0x9003, 0x9291, 0x9011), (0x9004, 0x9292, 0x9012))
"""Date and time, fraction of the second, offset from UTC: of taking the picture, else of making it digital."""
_LAT_REF, _LAT, _LON_REF, _LON, _GPS_TIME, _GPS_DATE = 1, 2, 3, 4, 7, 29


def read_photos(folder: Path, log: Sequence[LogEntry], settings: Settings) -> tuple[Photos, tuple[Problem, ...]]:
    """The photographs below ``photos/`` by the rows that name them, and what was wrong.

    A row names files with or without their ending, in any case, several divided by ``;`` or ``,``. Times without a
    zone are in the log's own. No problem says a position.
    """
    files, problems = _listed(folder / FOLDER)
    by_row: dict[int, tuple[Photo, ...]] = {}
    missing: list[tuple[int, str]] = []
    read: dict[str, Photo] = {}
    finder = _finder(files)
    for row in log:
        found: list[Photo] = []
        for name in _names(row.photo):
            candidates = _candidates(name, finder)
            if len(candidates) != 1:
                missing.append((row.row, name))
                problems.append(_not_one(row, name, candidates))
                continue
            if candidates[0] not in read:
                read[candidates[0]] = _read(files[candidates[0]], candidates[0], settings, problems)
            found.append(read[candidates[0]])
        if found:
            by_row[row.row] = tuple(found)
    unnamed = tuple(name for name in files if name not in read)
    return Photos(by_row=by_row, missing=tuple(missing), unnamed=unnamed), tuple(problems)


def _listed(folder: Path) -> tuple[dict[str, Path], list[Problem]]:
    """Pictures by their path below ``folder``; links are not followed."""
    files: dict[str, Path] = {}
    if not folder.is_dir():
        return files, []
    for path in sorted(folder.rglob("*")):
        if (
            path.suffix.lower() in ENDINGS
            and not path.name.startswith(".")
            and path.is_file()
            and not path.is_symlink()
        ):
            if len(files) == MOST_FILES:
                what = f"holds more than {MOST_FILES:,} pictures; the rest were not looked at"
                return files, [Problem(where=f"{FOLDER}/", what=what, remedy="Keep the day's own there.")]
            files[path.relative_to(folder).as_posix()] = path
    return files, []


def _finder(files: Mapping[str, Path]) -> dict[str, list[str]]:
    """What each file may be called: its path or its name, with or without the ending."""
    found: dict[str, list[str]] = {}
    for name in files:
        path = Path(name)
        for key in {name, path.name, path.with_suffix("").as_posix(), path.stem}:
            found.setdefault(_plain(key), []).append(name)
    return found


def _plain(name: str) -> str:
    return unicodedata.normalize("NFC", name.strip().replace("\\", "/")).casefold().removeprefix(f"{FOLDER}/")


def _names(cell: str) -> list[str]:
    return list(dict.fromkeys(name.strip() for name in _BETWEEN.split(cell) if name.strip()))


def _candidates(name: str, finder: Mapping[str, list[str]]) -> list[str]:
    """Files that ``name`` may mean: one whose whole path it is leaves the others out."""
    found = finder.get(_plain(name), [])
    whole = [file for file in found if _plain(file) == _plain(name)]
    return whole or found


def _not_one(row: LogEntry, name: str, candidates: list[str]) -> Problem:
    shown = name if len(name) <= 60 else name[:57] + "..."
    where = f"find log, row {row.row}"
    if not candidates:
        return Problem(
            where=where,
            what=f"the photograph {shown!r} is not in {FOLDER}/",
            remedy="Copy it there, or mend the name in the log.",
        )
    listed = ", ".join(candidates[:4]) + (" and more" if len(candidates) > 4 else "")
    return Problem(
        where=where,
        what=f"the photograph {shown!r} may be any of {listed}; none was used",
        remedy="Write the name with its folder and ending.",
    )


def _read(path: Path, name: str, settings: Settings, problems: list[Problem]) -> Photo:
    """What a picture says about itself; as good as nothing, and a problem, where it cannot be read."""
    try:
        return describe(name, *_directories(path), settings)
    except _TooLarge as error:
        what, remedy = str(error), "Make a smaller copy."
    except Exception as error:  # readers of pictures raise whatever their formats' parsers do
        what, remedy = f"cannot be read as a picture ({type(error).__name__})", "Copy it again from the camera."
    problems.append(Problem(where=f"{FOLDER}/{name}", what=what, remedy=remedy))
    return Photo(name=name)


class _TooLarge(Exception):
    pass


def _directories(path: Path) -> tuple[_Tags, _Tags, _Tags]:
    """The picture's EXIF: main directory, Exif's own, GPS.

    Nothing is decoded, but a small enough PNG, where EXIF may stand behind the picture.
    """
    from PIL import Image
    from pillow_heif import register_heif_opener

    if path.stat().st_size > LARGEST_BYTES:
        raise _TooLarge(f"is larger than {LARGEST_BYTES // 1_000_000} MB")
    Image.init()
    register_heif_opener(thumbnails=False)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # damaged tags are left out one by one
        try:
            with Image.open(path, formats=_FORMATS) as picture:
                if picture.format == "PNG" and picture.width * picture.height > _MOST_TO_DECODE:
                    raise _TooLarge("has more than 50 million pixels; its time and place were not read")
                exif = picture.getexif()
                return dict(exif), dict(exif.get_ifd(_EXIF_IFD)), dict(exif.get_ifd(_GPS_IFD))
        except Image.DecompressionBombError:
            raise _TooLarge("has so many pixels that it was not opened") from None


def describe(
    name: str, main: Mapping[int, Any], exif: Mapping[int, Any], gps: Mapping[int, Any], settings: Settings
) -> Photo:
    """A photograph from its EXIF tags by number: the main directory, Exif's own and GPS.

    The satellites' time (UTC) wins over the camera's. What makes no sense is left out.
    """
    place = _place(gps)
    at = _gps_time(gps)
    camera = None if at else _camera_time(exif, settings)
    orientation = main.get(_ORIENTATION, 1)
    return Photo(
        name=name,
        at=at or camera,
        clock="GPS" if at else "camera" if camera else "",
        lat=place[0] if place else None,
        lon=place[1] if place else None,
        orientation=orientation if isinstance(orientation, int) and 1 <= orientation <= 8 else 1,
    )


def _camera_time(exif: Mapping[int, Any], settings: Settings) -> dt.datetime | None:
    for tag, fraction, offset in _TAKEN:
        match = _STAMP.match(_text(exif.get(tag)))
        if not match:
            continue
        digits = re.match(r"\d*", _text(exif.get(fraction)), re.ASCII)
        micro = int((digits[0] if digits else "").ljust(6, "0")[:6])
        zone = _OFFSET.fullmatch(_text(exif.get(offset)))
        try:
            tz: dt.tzinfo = ZoneInfo(settings.time_zone)
            if zone:
                sign = -1 if zone[1] == "-" else 1
                tz = dt.timezone(sign * dt.timedelta(hours=int(zone[2]), minutes=int(zone[3])))
            taken = dt.datetime(*map(int, match.groups()), micro, tzinfo=tz)  # type: ignore[misc, arg-type]
            return taken.astimezone(dt.UTC)
        except (ValueError, OverflowError):
            continue
    return None


def _gps_time(gps: Mapping[int, Any]) -> dt.datetime | None:
    day = _DAY.fullmatch(_text(gps.get(_GPS_DATE)))
    clock = _numbers(gps.get(_GPS_TIME))
    if not day or clock is None or not (clock[0] < 24 and clock[1] < 60 and clock[2] < 61):
        return None
    try:
        midnight = dt.datetime(*map(int, day.groups()), tzinfo=dt.UTC)  # type: ignore[misc, arg-type]
        return midnight + dt.timedelta(hours=clock[0], minutes=clock[1], seconds=clock[2])
    except (ValueError, OverflowError):
        return None


def _place(gps: Mapping[int, Any]) -> tuple[float, float] | None:
    """Latitude and longitude. Exactly 0, 0 is a receiver without a fix (common practice, no source)."""
    degrees: list[float] = []
    for value, ref, most, signs in (
        (gps.get(_LAT), gps.get(_LAT_REF), 90, {"N": 1, "S": -1}),
        (gps.get(_LON), gps.get(_LON_REF), 180, {"E": 1, "W": -1}),
    ):
        parts, sign = _numbers(value), signs.get(_text(ref).upper())
        if parts is None or sign is None or parts[1] >= 60 or parts[2] >= 60:
            return None
        size = parts[0] + parts[1] / 60 + parts[2] / 3600
        if size > most:
            return None
        degrees.append(sign * size)
    return (degrees[0], degrees[1]) if any(degrees) else None


def _numbers(value: Any) -> tuple[float, float, float] | None:
    """Three rationals, none negative; None for anything else."""
    if not isinstance(value, tuple | list) or len(value) != 3:
        return None
    try:
        parts = tuple(float(part) for part in value)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return (parts[0], parts[1], parts[2]) if all(math.isfinite(p) and p >= 0 for p in parts) else None


def _text(value: Any) -> str:
    if isinstance(value, bytes):
        value = value.decode("ascii", errors="replace")
    return value.strip("\0 ") if isinstance(value, str) else ""
