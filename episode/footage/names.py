"""The time of recording that cameras and phones write into a file's name."""

from __future__ import annotations

import re
from datetime import UTC, datetime, tzinfo

_DATE = r"(?<!\d)((?:19|20)\d\d)(?P<d>[-._]?)(\d\d)(?P=d)(\d\d)"
_BETWEEN = r"(?:[-_ .T]{0,3}|[ _-]at[ _-])"
_TIME = r"([01]\d|2[0-3])(?P<t>[-._:h]?)([0-5]\d)(?P<u>[-._:m]?)([0-5]\d)"
_FRACTION = r"(?:[._](\d{3})(?!\d)|(\d{3})(?!\d))?"
_ZONE = r"(Z(?![A-Za-z]))?"
_STAMP = re.compile(_DATE + _BETWEEN + _TIME + _FRACTION + r"(?!\d)" + _ZONE)

_IN_UTC = ("PXL_",)
"""Name beginnings of phones that write UTC, not local time (common practice, no source)."""


def time_in_name(name: str, zone: tzinfo) -> datetime | None:
    """The date and time in a file's name (no folders), as an aware time in ``zone``; ``None`` if there is none.

    Both must be there, to the second: ``20260503_094112``, ``2026-05-03 09.41.12``, ``VID_20260503_094112``,
    ``20260503094112``. They are local time unless a ``Z`` follows or the name's beginning is known to mean UTC.
    Impossible dates and times (month 13, 30 February) are no time.
    """
    for found in _STAMP.finditer(name):
        year, _, month, day, hour, _, minute, _, second, *fraction, utc = found.groups()
        millis = int(next((f for f in fraction if f), "0"))
        try:
            read = datetime(
                int(year),
                int(month),
                int(day),
                int(hour),
                int(minute),
                int(second),
                millis * 1000,
                tzinfo=UTC if utc or name.startswith(_IN_UTC) else zone,
            )
            # By way of UTC, so that a local time skipped in spring becomes one that exists.
            return read.astimezone(UTC).astimezone(zone)
        except (ValueError, OverflowError):
            continue
    return None
