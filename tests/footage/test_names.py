from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.footage.names import time_in_name

LONDON = ZoneInfo("Europe/London")
TIME = datetime(2026, 5, 3, 9, 41, 12, tzinfo=LONDON)


@pytest.mark.parametrize(
    "name",
    [
        "20260503_094112.mp4",
        "20260503094112.mp4",
        "VID_20260503_094112.mp4",
        "VID-20260503-094112.mp4",
        "2026-05-03 09.41.12.mov",
        "2026-05-03_09-41-12.mov",
        "2026-05-03T09:41:12.mov",
        "2026_05_03 09_41_12.mkv",
        "Screen 2026-05-03 at 09.41.12.mov",
        "D_20260503094112_0001_N.MP4",
        "20260503_094112(0).mp4",
        "clip20260503T084112Z.mp4",
        "PXL_20260503_084112.mp4",
    ],
)
def test_what_cameras_and_phones_write(name: str) -> None:
    """Patterns: common practice, no source."""
    assert time_in_name(name, LONDON) == TIME


def test_thousandths() -> None:
    assert time_in_name("PXL_20260503_084112345.mp4", LONDON) == TIME.replace(microsecond=345000)


@pytest.mark.parametrize(
    "name",
    [
        "20261303_094112.mp4",
        "20260230_094112.mp4",
        "20260503_246112.mp4",
        "20260503.mp4",
        "20260503_0001.mp4",
        "2026-05-03 Skelby Sands.mp4",
        "GX010123.MP4",
        "120260503_0941123.mp4",
        "C0001.MP4",
        "2026-0503 094112.mp4",
    ],
)
def test_what_is_no_time(name: str) -> None:
    assert time_in_name(name, LONDON) is None


def test_a_time_skipped_in_spring_becomes_one_that_exists() -> None:
    """29 March 2026, 01:00 GMT is when British clocks go to 02:00 BST (IANA time zone database)."""
    found = time_in_name("20260329_013000.mp4", LONDON)
    assert found == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)
    assert found is not None
    assert found.hour == 2


@given(
    st.datetimes(min_value=datetime(1990, 1, 1), max_value=datetime(2035, 12, 31)),
    st.sampled_from(["%Y%m%d_%H%M%S", "%Y-%m-%d %H.%M.%S", "%Y%m%d%H%M%S", "%Y-%m-%d_%H-%M-%S"]),
    st.sampled_from(["", "VID_", "IMG-", "cam A "]),
    st.sampled_from([".mp4", "_0001.MOV", " (2).mts"]),
)
def test_every_time_comes_back(when: datetime, pattern: str, before: str, after: str) -> None:
    when = when.replace(microsecond=0)
    assert time_in_name(before + when.strftime(pattern) + after, UTC) == when.replace(tzinfo=UTC)


@given(st.text(max_size=60))
def test_no_name_breaks_it(name: str) -> None:
    found = time_in_name(name, UTC)
    assert found is None or found.tzinfo is not None


@given(st.text(alphabet="0123456789-_.: TZ", max_size=40))
def test_no_digits_break_it(name: str) -> None:
    found = time_in_name(name, UTC)
    assert found is None or found.strftime("%Y") in name
