"""Days of the week of dates as Britain reckoned them."""

from __future__ import annotations

import calendar
import re

NEW_STYLE = (1752, 9, 14)
"""The day after 2 September 1752 (Calendar (New Style) Act 1750); before it the Julian calendar."""
NAMES = tuple(calendar.day_name)
_NAME = r"(?P<day>" + "|".join(NAMES) + r")s?\b"
_BEFORE = re.compile(_NAME + r"[\s,]*(?:the\s+)?$", re.IGNORECASE)
_AFTER = re.compile(r"^[\s,]*(?:(?:and|which|that|it|so)\s+){0,2}(?:was\s+)?(?:an?\s+)?" + _NAME, re.IGNORECASE)


def weekday(year: int, month: int, day: int) -> str | None:
    """The English name of the day of the week; ``None`` for the days that were left out in September 1752.

    Days are counted from the Julian day number (Explanatory Supplement to the Astronomical Almanac, from memory).
    """
    number = day_number(year, month, day)
    return None if number is None else NAMES[number % 7]


def day_number(year: int, month: int, day: int) -> int | None:
    """The Julian day number at noon of a day as Britain reckoned it; ``None`` for a day that was left out."""
    if NEW_STYLE > (year, month, day) > (1752, 9, 2):
        return None
    early = (14 - month) // 12
    y, m = year + 4800 - early, month + 12 * early - 3
    number = day + (153 * m + 2) // 5 + 365 * y + y // 4
    return number + (y // 400 - y // 100 - 32045 if (year, month, day) >= NEW_STYLE else -32083)


def said_weekday(text: str, at: int, until: int) -> str | None:
    """The weekday said right before or after the date at characters ``at`` to ``until``."""
    match = _BEFORE.search(text[:at]) or _AFTER.search(text[until:])
    return match.group("day").capitalize() if match else None
