"""A clip's wall-clock start, and how it was come by."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import PurePosixPath

from episode.footage.names import time_in_name
from episode.models import Problem, StartFrom

OLDEST_YEAR = 1990
FIRST_YEAR_PAST_BELIEF = 2036
"""Clocks that were never set say 1904 (QuickTime's zero), 1970 (Unix) or 1980 (FAT); an overflow says 2036 or later."""
SLACK = timedelta(days=2)
"""A file cannot have been recorded after it was last written; this much is allowed for time zones."""

_ISO = re.compile(
    r"^(\d{4})[-:](\d\d)[-:](\d\d)[T ](\d\d):(\d\d):(\d\d)(?:\.(\d{1,9}))?\s*(Z|UTC|[+-]\d\d:?\d\d)?$", re.IGNORECASE
)


def wall_clock_start(
    name: str, tags: dict[str, str], modified: float, zone: tzinfo
) -> tuple[datetime, StartFrom, list[Problem]]:
    """The start of the clip ``name``, in ``zone``, by the contract's order: creation time, file name, modification.

    ``creation_time`` in MP4 and QuickTime is UTC by ISO 14496-12 (8.2.2.3) and is taken at its word, although some
    cameras put local time there: the offset is the same for the whole day, and the clock estimated against the
    log takes it out. Times that no clock could have meant are passed over with a problem each.
    """
    problems: list[Problem] = []
    written = _from_timestamp(modified, zone)
    for what, stated in _creation_times(tags, zone):
        if (reason := _past_belief(stated, written)) is None:
            return stated, StartFrom.CREATION, problems
        problems.append(_distrusted(name, f"its {what}, {stated:%Y-%m-%d %H:%M}, {reason}"))
        break  # the other tags come from the same clock
    named = time_in_name(PurePosixPath(name).name, zone)
    if named is not None:
        if (reason := _past_belief(named, None)) is None:
            return named, StartFrom.NAME, problems
        problems.append(_distrusted(name, f"the time in its name, {named:%Y-%m-%d %H:%M}, {reason}"))
    if written.year < OLDEST_YEAR:
        problems.append(
            Problem(
                where=name,
                what=f"no believable time of recording; its modification time is {written:%Y-%m-%d}",
                remedy="Put the date and time into its name, as in 20260503_094112.mp4.",
            )
        )
    return written, StartFrom.MODIFIED, problems


def _creation_times(tags: dict[str, str], zone: tzinfo) -> list[tuple[str, datetime]]:
    """All stated times, best first: with an offset, then UTC by standard, then a recorder's local time."""
    found: list[tuple[str, datetime]] = []
    for key, unmarked in (
        ("com.apple.quicktime.creationdate", zone),
        ("creation_time", UTC),
        ("date_recorded", zone),
        ("date", zone),
    ):
        if (stated := _read(tags.get(key, ""), unmarked, zone)) is not None:
            found.append(("creation time", stated))
    # Broadcast Wave (EBU Tech 3285) keeps the recorder's local date and time apart.
    apart = f"{tags.get('origination_date', '')} {tags.get('origination_time', '').replace('-', ':')}"
    if (stated := _read(apart, zone, zone)) is not None:
        found.append(("origination time", stated))
    return found


def _read(text: str, unmarked: tzinfo, zone: tzinfo) -> datetime | None:
    parts = _ISO.match(text.strip())
    if parts is None:
        return None
    micro = int((parts[7] or "").ljust(6, "0")[:6] or 0)
    try:
        offset = _offset(parts[8]) if parts[8] else unmarked
        stated = datetime(*(int(parts[i]) for i in range(1, 7)), micro, tzinfo=offset)  # type: ignore[misc,arg-type]
        return stated.astimezone(UTC).astimezone(zone)
    except (ValueError, OverflowError):
        return None


def _offset(text: str) -> tzinfo:
    if text.upper() in ("Z", "UTC"):
        return UTC
    from datetime import timezone

    minutes = int(text[1:3]) * 60 + int(text[-2:])
    return timezone(timedelta(minutes=-minutes if text[0] == "-" else minutes))


def _past_belief(stated: datetime, written: datetime | None) -> str | None:
    if stated.year < OLDEST_YEAR:
        return "is from a clock that was never set"
    if stated.year >= FIRST_YEAR_PAST_BELIEF:
        return "lies too far ahead"
    if written is not None and written.year >= OLDEST_YEAR and stated - written > SLACK:
        return f"is after the file was last written ({written:%Y-%m-%d})"
    return None


def _distrusted(name: str, why: str) -> Problem:
    return Problem(
        where=name,
        what=f"not trusted: {why}",
        remedy="Set the camera's clock; for this clip, put the date and time into its name, as in 20260503_094112.mp4.",
    )


def _from_timestamp(seconds: float, zone: tzinfo) -> datetime:
    try:
        return datetime.fromtimestamp(seconds, UTC).astimezone(zone)
    except (ValueError, OverflowError, OSError):
        return datetime(1970, 1, 1, tzinfo=UTC).astimezone(zone)
