"""The moon's phases, and how far a day lies from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from episode.record.weekdays import day_number

PhaseName = Literal["new moon", "first quarter", "full moon", "last quarter"]
EPOCH = 2_415_020.0
"""Julian date from which the library counts days: noon of 31 December 1899."""
FIRST_YEAR, LAST_YEAR = 1500, 2200
"""Farther off the turning of the earth is known too little, and calendars differ too much, for a day."""


@dataclass(frozen=True)
class Phase:
    """A phase of the moon: ``days`` from it to noon (UT) of the day asked about, negative where it is yet to come.

    ``when`` is its moment in universal time, its day as Britain reckoned days then.
    """

    name: PhaseName
    days: float
    when: str


def nearest_phase(day: tuple[int, int, int], names: tuple[PhaseName, ...]) -> Phase | None:
    """The nearest of the phases ``names`` to a day (year, month, day); ``None`` outside 1500 to 2200.

    Phases are where the library ``ephem`` has the moon's longitude 0, 90, 180 or 270 degrees beyond the sun's.
    """
    number = day_number(*day)
    if number is None or not FIRST_YEAR <= day[0] <= LAST_YEAR:
        return None
    import ephem

    noon = number - EPOCH
    found = []
    for name in names:
        said = name.replace(" ", "_")
        if "quarter" in name:
            said += "_moon"
        for step in ("previous", "next"):
            at = getattr(ephem, f"{step}_{said}")(noon)
            found.append((abs(noon - float(at)), name, noon - float(at), at))
    _, name, days, at = min(found)
    return Phase(name, days, _written(float(at), day))


def _written(at: float, day: tuple[int, int, int]) -> str:
    """A moment as a day of the calendar that ``day`` is of, to the minute."""
    minutes = round((at + EPOCH + 0.5) * 1440)
    number, rest = divmod(minutes, 1440)
    year, month, date = day
    by = 1 if number > (day_number(*day) or 0) else -1
    while day_number(year, month, date) != number:
        year, month, date = _step(year, month, date, by)
    return f"{date} {_MONTHS[month - 1]} {year} at {rest // 60:02d}:{rest % 60:02d} UT"


_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def _step(year: int, month: int, date: int, by: int) -> tuple[int, int, int]:
    date += by
    if date < 1:
        month -= 1
        year, month = (year - 1, 12) if month < 1 else (year, month)
        date = _length(year, month)
    elif date > _length(year, month):
        date, month = 1, month + 1
        year, month = (year + 1, 1) if month > 12 else (year, month)
    return year, month, date


def _length(year: int, month: int) -> int:
    after = (year + 1, 1, 1) if month == 12 else (year, month + 1, 1)
    if (year, month) == (1752, 9):
        return 30
    return (day_number(*after) or 0) - (day_number(year, month, 1) or 0)
