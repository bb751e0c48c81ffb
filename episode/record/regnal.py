"""Regnal years: "12 Elizabeth I" as the days between two anniversaries of an accession."""

from __future__ import annotations

import calendar
import csv
import re
from functools import lru_cache

from episode.errors import UnusableInput
from episode.lexicon.resources import vocab_root
from episode.record import edtf_out
from episode.record.load import load_record, name_key
from episode.record.reading import Mark
from episode.record.reigns import Day, Reign, reigns

_NUMERALS = {"1": "i", "2": "ii", "3": "iii", "4": "iv", "5": "v", "6": "vi", "7": "vii", "8": "viii"}
_MONTHS = {name.lower()[:3]: n for n, name in enumerate(calendar.month_name) if name}
PATTERN = re.compile(
    r"^\s*(?:regnal (?:year )?)?(?:(?P<day>\d{1,2})(?:st|nd|rd|th)?\s+(?P<month>[a-z]{3,9})\.?,?\s+)?"
    r"(?P<year>\d{1,2})(?:st|nd|rd|th)?\s+(?:year of )?(?:the reign of )?(?:king |queen )?(?P<who>[a-z][a-z .&]*?)"
    r"(?:\s+(?P<number>[1-8]|[ivx]{1,4}))?\s*$",
    re.IGNORECASE,
)


def read_regnal(text: str) -> Mark | None:
    """The days of a regnal year, or the day in it; ``None`` where the text names no sovereign with a number before.

    A year runs from the anniversary of the accession to the day before the next one (Cheney, Handbook of Dates).
    Years are historical ones, beginning on 1 January.

    Raises:
        UnusableInput: the sovereign did not reign so long, the day is none, or years are counted from a movable day.
    """
    match = PATTERN.match(text)
    row = _named(match.group("who"), match.group("number")) if match else None
    if match is None or row is None:
        return None
    reign = reigns()[name_key(row["reign"])]
    number = int(match.group("year"))
    first = tuple(int(part) for part in row["counts_from"].split("-")) if row["counts_from"] else reign.first
    start = (first[0] + number - 1, first[1], first[2])
    if number < 1 or (reign.last is not None and start > reign.last):
        raise UnusableInput(
            f"{reign.name} has no regnal year {number}",
            where=text.strip()[:60],
            remedy=f"{reign.name} is counted from {first[0]} to {reign.last[0] if reign.last else 'now'}.",
        )
    end = _day_before((start[0] + 1, start[1], start[2]))
    if reign.last is not None:
        end = min(end, reign.last)
    said = " ".join(text.split())
    if match.group("day"):
        start = end = _inside(match.group("day"), match.group("month"), start, end, said)
    return _mark(said, reign, number, start, end, row)


def _mark(said: str, reign: Reign, number: int, start: Day, end: Day, row: dict[str, str]) -> Mark:
    edtf = _iso(start) if start == end else f"{_iso(start)}/{_iso(end)}"
    when = _spelt(start) if start == end else f"{_spelt(start)} to {_spelt(end)}"
    cautions = [f"{reign.name}'s years are {row['note']}."] if row["note"] else []
    if row["counts_from"] and start < reign.first:
        cautions.append(f"{reign.name} was not yet on the throne at the beginning of that year.")
    if start[0] < 1752:
        cautions.append("Until 1752 papers count the days from 1 January to 24 March to the year before.")
    source = load_record().reference(reign.fact.source)
    if row["source"] != reign.fact.source:
        source += f"; {load_record().reference(row['source'])}"
    return Mark(
        kind="regnal year", text=said, says=f"{number} {reign.name} is {when}",
        from_=start[0], to=end[0], edtf=edtf, source=source, cautions=tuple(cautions),
    )  # fmt: skip


def _inside(day: str, month: str, start: Day, end: Day, said: str) -> Day:
    number = _MONTHS.get(month.lower()[:3])
    if number is None:
        raise UnusableInput("names no month", where=said[:60], remedy="Write it as 29 September 2 Charles I.")
    for year in range(start[0], end[0] + 1):
        here = (year, number, int(day))
        julian_leap = number == 2 and int(day) == 29 and year % 4 == 0
        known = 1 <= int(day) <= calendar.monthrange(year, number)[1] or julian_leap
        if known and start <= here <= end:
            return here
    raise UnusableInput("that regnal year has no such day", where=said[:60], remedy="Check day, month and year.")


def _named(who: str, number: str | None) -> dict[str, str] | None:
    name = " ".join(who.replace("&", " and ").replace(".", " ").lower().split())
    if number:
        name += " " + _NUMERALS.get(number, number.lower())
    if name == "john":
        raise UnusableInput(
            "years of King John are counted from Ascension Day, which moves",
            where="John",
            remedy="Use a printed table.",
        )
    return _names().get(name)


@lru_cache(maxsize=1)
def _names() -> dict[str, dict[str, str]]:
    path = vocab_root().joinpath("record").joinpath("regnal_names.csv")
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return {name: row for row in rows for name in row["names"].split(";")}


def _day_before(day: Day) -> Day:
    year, month, number = day
    if number > 1:
        return year, month, number - 1
    if month == 1:
        return year - 1, 12, 31
    return year, month - 1, calendar.monthrange(year, month - 1)[1]


def _iso(day: Day) -> str:
    return f"{edtf_out.year(day[0])}-{day[1]:02d}-{day[2]:02d}"


def _spelt(day: Day) -> str:
    return f"{day[2]} {calendar.month_name[day[1]]} {day[0]}"
