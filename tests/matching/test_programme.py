"""Clips in the order in which they were filmed, whatever their cameras' clocks said."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from episode.matching.programme import in_true_order
from episode.models import Clip, Clock, StartFrom

NINE = datetime(2026, 5, 3, 9, tzinfo=UTC)


def clip(name: str, camera: str, minutes: float) -> Clip:
    start = NINE + timedelta(minutes=minutes)
    return Clip(name=name, path=Path(name), duration=60, start=start, start_from=StartFrom.CREATION, camera=camera)


def test_a_camera_an_hour_slow_is_put_right_and_a_clips_own_clock_counts_first():
    clips = (clip("a1", "chest", -60), clip("a2", "chest", -20), clip("b1", "hand", 20), clip("b2", "hand", 500))
    clocks = (
        Clock(camera="chest", offset_s=3600),
        Clock(camera="hand", offset_s=0),
        Clock(camera="hand", clip="b2", offset_s=-500 * 60.0),
    )
    assert [c.name for c in in_true_order(clips, clocks)] == ["a1", "b2", "b1", "a2"]


def test_without_clocks_the_cameras_are_believed():
    clips = (clip("b", "hand", 5), clip("a", "chest", 5), clip("c", "hand", 1))
    assert [c.name for c in in_true_order(clips, ())] == ["c", "a", "b"]
