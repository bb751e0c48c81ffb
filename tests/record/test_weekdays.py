"""Days of the week against the calendar that the Act of 1750 fixed, and against Python's own."""

from __future__ import annotations

import calendar
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.record.dates import read_dates
from episode.record.weekdays import said_weekday, weekday


def test_wednesday_2_september_1752_was_followed_by_thursday_the_14th() -> None:
    # Calendar (New Style) Act 1750, s. 1.
    assert (weekday(1752, 9, 2), weekday(1752, 9, 14)) == ("Wednesday", "Thursday")
    assert weekday(1752, 9, 3) is None


def test_the_battle_of_hastings_was_on_a_saturday() -> None:
    # 14 October 1066, a Saturday in the Julian calendar: from memory.
    assert weekday(1066, 10, 14) == "Saturday"


@given(st.dates(min_value=date(1752, 9, 14)))
def test_new_style_days_are_pythons(day: date) -> None:
    assert weekday(day.year, day.month, day.day) == calendar.day_name[day.weekday()]


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("on Tuesday the 24th of November 1870", "Tuesday"),
        ("Tuesday, 24 November 1870", "Tuesday"),
        ("24 November 1870, which was a Tuesday", "Tuesday"),
        ("24 November 1870 and we came back on Tuesday", None),
    ],
)
def test_the_weekday_said_with_a_date(text: str, day: str | None) -> None:
    span = read_dates(text)[0]
    assert said_weekday(text, span.at, span.until) == day


@pytest.mark.parametrize(
    ("said", "first", "last"),
    [
        # Reigns: the regnal list of the record; the give is half of the last place said.
        ("a hundred years before Victoria", 1687, 1787),
        ("fifty years after 1066", 1091, 1141),
        ("two centuries before the Victorians", 1587, 1687),
        ("12 years before 1887", 1875, 1875),
    ],
)
def test_years_counted_from_another_date(said: str, first: int, last: int) -> None:
    span = read_dates(said)[0]
    assert (span.text, span.from_, span.to) == (said, first, last)
