"""Full dates: day, month and year as they are said or written in Britain, and ISO 8601."""

from __future__ import annotations

import calendar
from dataclasses import dataclass

from episode.record.numbers import ordinal
from episode.record.tokens import Token
from episode.record.years import FIRST_YEAR, LAST_YEAR, year_at

_MONTHS = {name.lower(): n for n, name in enumerate(calendar.month_name) if name}
_MONTHS |= {name.lower(): n for n, name in enumerate(calendar.month_abbr) if name} | {"sept": 9}


@dataclass(frozen=True, slots=True)
class Day:
    """A date of day or month precision: its year, its EDTF, and the index after it."""

    year: int
    edtf: str
    end: int


def calendar_date(words: list[Token], at: int) -> Day | None:
    """A date at ``at`` with a year; day before month ("03/05/1870" is 3 May)."""
    return _figures(words, at) or _month_first(words, at) or _day_first(words, at)


def _figures(words: list[Token], at: int) -> Day | None:
    if at + 4 >= len(words) or not words[at].is_number:
        return None
    first, one, second, two, third = words[at : at + 5]
    if one.word != two.word or one.word not in {"-", "/", "."} or not (second.is_number and third.is_number):
        return None
    if not (one.close and second.close and two.close and third.close):
        return None
    if at + 5 < len(words) and words[at + 5].close and words[at + 5].is_number:
        return None
    if first.digits == 4 and one.word == "-":
        return _day(first.value, second.value, third.value, at + 5)
    if third.digits == 4:
        return _day(third.value, second.value, first.value, at + 5)
    return None


def _month_first(words: list[Token], at: int) -> Day | None:
    month = _MONTHS.get(words[at].word)
    if month is None:
        return None
    here = _skip(words, at + 1, {"."})
    start = here
    here = _skip(words, here, {"the"})
    found = ordinal(words, here)
    day: int | None = None
    if found and found[0] <= 31:
        day, here = found
    elif (
        here < len(words)
        and words[here].value is not None
        and words[here].digits <= 2
        and (words[here].value or 0) <= 31
    ):
        day, here = words[here].value, here + 1
    else:
        here = start
    here = _skip(words, here, {",", "of", "in"})
    return _year(words, here, month, day)


def _day_first(words: list[Token], at: int) -> Day | None:
    found = ordinal(words, at)
    if found is None and words[at].value is not None and words[at].digits <= 2:
        found = words[at].value or 0, at + 1
    if found is None or not 1 <= found[0] <= 31:
        return None
    here = _skip(words, found[1], {"of"})
    if here >= len(words) or words[here].word not in _MONTHS:
        return None
    month = _MONTHS[words[here].word]
    here = _skip(words, here + 1, {".", ","})
    return _year(words, here, month, found[0])


def _year(words: list[Token], at: int, month: int, day: int | None) -> Day | None:
    if at >= len(words):
        return None
    year = year_at(words, at)
    return _day(year[0], month, day, year[1]) if year else None


def _day(year: int | None, month: int | None, day: int | None, end: int) -> Day | None:
    if year is None or month is None or not FIRST_YEAR <= year <= LAST_YEAR or not 1 <= month <= 12:
        return None
    if day is None:
        return Day(year, f"{year:04d}-{month:02d}", end)
    if not 1 <= day <= calendar.monthrange(year, month)[1]:
        return None
    return Day(year, f"{year:04d}-{month:02d}-{day:02d}", end)


def _skip(words: list[Token], at: int, skipped: set[str]) -> int:
    return at + 1 if at < len(words) and words[at].word in skipped else at


MONTH_WORDS = frozenset(_MONTHS)
