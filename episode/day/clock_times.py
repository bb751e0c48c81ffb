"""Times as people type them into a phone: ``9:41``, ``09.52``, ``10:05am``, ``0941``, ISO 8601."""

from __future__ import annotations

import datetime as dt
import re
from zoneinfo import ZoneInfo

_CLOCK = re.compile(
    r"^(?:at\s+|about\s+|c\.?\s*|~\s*)?(?P<h>\d{1,2})(?:\s*[:.h]\s*(?P<m>\d{2})(?:\s*[:.]\s*(?P<s>\d{2})(?:[.,]\d+)?)?)?"
    r"\s*(?P<half>[ap])?\.?\s*(?:m\b\.?)?(?:\s*(?:hrs?|hours))?$",
    re.IGNORECASE,
)
_FOUR = re.compile(r"^(?P<h>[01]\d|2[0-3])(?P<m>[0-5]\d)(?:\s*(?:hrs?|hours|h))?$", re.IGNORECASE)
_DAY_FIRST = re.compile(r"^(\d{1,2})[/.-](\d{1,2})[/.-](\d{4}),?\s+(.+)$")


def read_clock(cell: str, day: dt.date | None, zone: ZoneInfo) -> tuple[dt.datetime, bool]:
    """The moment that ``cell`` means, in ``zone`` unless it says otherwise, and whether it was a clock time alone.

    Day comes before month in ``3/5/2026 9:41``, as people here write it.

    Raises:
        ValueError: it is no time, it does not exist (25:10), or it needs a date and ``day`` is None.
    """
    text = " ".join(cell.split())
    whole = _iso(text, zone)
    if whole:
        return whole, False
    dated = _DAY_FIRST.match(text)
    if dated:
        try:
            day = dt.date(int(dated[3]), int(dated[2]), int(dated[1]))
        except ValueError:
            raise ValueError("is not a date that exists") from None
        return dt.datetime.combine(day, _clock(dated[4]), zone), False
    clock = _clock(text)
    if day is None:
        raise ValueError("is a clock time, and no date is known for the day")
    return dt.datetime.combine(day, clock, zone), True


def _iso(text: str, zone: ZoneInfo) -> dt.datetime | None:
    if not re.match(r"^\d{4}-?\d{2}-?\d{2}[T ]", text):
        return None
    try:
        moment = dt.datetime.fromisoformat(text)
    except ValueError:
        raise ValueError("is not a date and time that exist") from None
    return moment if moment.tzinfo else moment.replace(tzinfo=zone)


def _clock(text: str) -> dt.time:
    match = _FOUR.match(text) or _CLOCK.match(text)
    if not match:
        raise ValueError("is not a time")
    parts = match.groupdict()
    hour, minute, second = int(parts["h"]), int(parts["m"] or 0), int(parts.get("s") or 0)
    half = (parts.get("half") or "").lower()
    if not parts["m"] and not half:
        raise ValueError("is not a time")
    if half:
        if not 1 <= hour <= 12:
            raise ValueError("is not a time that exists")
        hour = hour % 12 + (12 if half == "p" else 0)
    try:
        return dt.time(hour, minute, second)
    except ValueError:
        raise ValueError("is not a time that exists") from None
