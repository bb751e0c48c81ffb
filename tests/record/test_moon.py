"""The moon's phases against a published table."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.record.moon import nearest_phase


@pytest.mark.parametrize(
    ("day", "name", "when"),
    [
        # Celestial navigation pages of H. Umland (celnav.nl), moon phases of 2019 in UT1, minutes as printed there.
        ((2019, 1, 6), "new moon", "6 January 2019 at 01:2"),
        ((2019, 1, 21), "full moon", "21 January 2019 at 05:1"),
        ((2019, 3, 14), "first quarter", "14 March 2019 at 10:2"),
        ((2019, 5, 26), "last quarter", "26 May 2019 at 16:3"),
        ((2019, 7, 16), "full moon", "16 July 2019 at 21:3"),
        ((2019, 11, 26), "new moon", "26 November 2019 at 15:"),
    ],
)
def test_phases_are_those_of_a_published_table(day, name, when) -> None:
    found = nearest_phase(day, (name,))
    assert found is not None
    assert found.when.startswith(when)
    assert abs(found.days) < 1


def test_days_are_counted_in_the_calendar_of_the_time() -> None:
    # 2 September 1752 was followed by the 14th (Calendar (New Style) Act 1750): three days apart, not fourteen.
    before, after = (nearest_phase(day, ("full moon",)) for day in ((1752, 9, 1), (1752, 9, 15)))
    assert before is not None and after is not None
    assert before.when == after.when
    assert after.days - before.days == pytest.approx(3)
    third = nearest_phase((1752, 9, 2), ("new moon", "first quarter", "full moon", "last quarter"))
    assert third is not None and "1752" in third.when
    assert nearest_phase((1752, 9, 5), ("full moon",)) is None
    assert nearest_phase((1066, 10, 14), ("full moon",)) is None


@given(st.dates())
def test_any_day_lies_within_half_a_month_of_a_phase(day) -> None:
    found = nearest_phase((day.year, day.month, day.day), ("full moon",))
    assert (found is None) == (
        not 1500 <= day.year <= 2200 or (1752, 9, 2) < (day.year, day.month, day.day) < (1752, 9, 14)
    )
    assert found is None or abs(found.days) < 15.2
