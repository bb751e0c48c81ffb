from __future__ import annotations

import itertools
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from episode.drafting.result import DayResult
from episode.models import Clock
from episode.review.page import page
from episode.review.scale import Scale
from episode.review.strip import corrected, said_offset, strip
from tests.drafting.invented import CLIPS, MORNING, SETTINGS, clip, day


def test_a_row_for_each_camera_and_a_bar_for_each_clip():
    drawn = strip(day(), UTC)
    assert [r.camera for r in drawn.rows] == ["hand", "head"]
    assert [b.name for b in drawn.bars] == [c.name for c in CLIPS]
    assert all(drawn.left <= b.x and b.x + b.width <= drawn.right + 0.1 for b in drawn.bars)


def test_clips_stand_where_the_logs_clock_has_them():
    clock = Clock(camera="head", offset_s=37, pairs=5)
    assert corrected(CLIPS[2], (clock,)) == CLIPS[2].start + timedelta(seconds=37)
    own = Clock(camera="head", clip=CLIPS[2].name, offset_s=-5, pairs=1)
    assert corrected(CLIPS[2], (clock, own)) == CLIPS[2].start - timedelta(seconds=5)


def test_paired_moments_are_tied_to_their_rows():
    drawn = strip(day(), UTC)
    tied = {m.id for m in drawn.marks if m.tie}
    assert tied == {m.id for m in day().moments if m.find and m.stance.value in {"found", "unsure", "earlier"}}
    assert [e.find for e in drawn.logged if not e.filmed] == ["14"]


def test_a_log_row_of_another_day_does_not_stretch_the_strip():
    far = day().log[0].model_copy(update={"time": MORNING + timedelta(days=40)})
    drawn = strip(day(log=(far,)), UTC)
    assert drawn.logged == []


def test_long_gaps_are_said_and_drawn_short():
    clips = (clip("a.mp4", 0, 90), clip("b.mp4", 240, 90))
    drawn = strip(DayResult(clips=clips), UTC)
    assert [g.says for g in drawn.gaps] == ["238 min not filmed"]
    assert drawn.gaps[0].width < 0.15 * (drawn.right - drawn.left)
    assert drawn.bars[0].width > 300


def test_a_clip_whose_clock_is_not_known_is_told_apart():
    clocks = (
        Clock(camera="hand", offset_s=3, pairs=5, error_s=4),
        Clock(camera="head", known=False, error_s=900),
        Clock(camera="hand", clip=CLIPS[1].name, offset_s=7200, known=False),
    )
    made = day()
    made = made.model_copy(update={"matched": made.matched.model_copy(update={"clocks": clocks})})
    drawn = strip(made, UTC)
    assert {b.name for b in drawn.bars if b.unknown} == {CLIPS[1].name, CLIPS[2].name, CLIPS[4].name}
    assert dict(drawn.clocks)["hand"].startswith("clock 3 s slow")
    assert dict(drawn.clocks)[CLIPS[1].name].startswith("clock not known")
    assert "its clock is not known" in page(made) and "A broken edge" in page(made)
    assert "A broken edge" not in page(day())


def test_a_day_without_a_log_is_not_blamed_for_it():
    clocks = (Clock(camera="hand", known=False), Clock(camera="head", known=False))
    bare = tuple(m.model_copy(update={"find": None}) for m in day().moments)
    matched = day().matched.model_copy(update={"clocks": clocks, "moments": bare, "unlogged": (), "unfilmed": ()})
    made = day(log=(), matched=matched)
    drawn = strip(made, UTC)
    assert not [b for b in drawn.bars if b.unknown] and drawn.logged == []
    told = page(made)
    assert "nothing to check it by" in told and "no row" not in told and "Not in the log" not in told


def test_long_names_and_many_cameras_stay_in_the_drawing():
    names = [f"the camera that was lent to me by number {n}" for n in range(9)]
    made = DayResult(clips=tuple(clip(f"{n}.mp4", 3 * k, 90, n) for k, n in enumerate(names)))
    drawn = strip(made, UTC)
    assert [r.camera for r in drawn.rows] == names
    assert all(len(r.label) <= 14 for r in drawn.rows) and drawn.height > 9 * 60
    assert page(made).count("<title>the camera that was lent") >= 9


def test_a_place_kept_private_is_not_in_the_drawing():
    told = SETTINGS.model_copy(update={"private_places": ("Eel Gut",)})
    row = day().log[0].model_copy(update={"object": "pin from Eel Gut"})
    made = day(settings=told, log=(row, *day().log[1:]), clips=(clip("Eel Gut.mp4", 0, 60, "Eel Gut camera"), *CLIPS))
    drawn = strip(made, UTC)
    shown = [*(e.says for e in drawn.logged), *(b.says for b in drawn.bars), *(n for n, _ in drawn.clocks)]
    assert shown and not [s for s in shown if "Eel" in s]


def test_nothing_filmed_draws_nothing():
    assert strip(DayResult(), UTC) is None


@pytest.mark.parametrize(
    ("clock", "words"),
    [
        (Clock(camera="a", offset_s=37, pairs=5, error_s=9), "clock 37 s slow, give or take 9 s, by 5 finds"),
        (Clock(camera="a", offset_s=-3661.2, pairs=1), "clock 61 min 1 s fast, by 1 find"),
        (Clock(camera="a", offset_s=0.2, pairs=2), "clock agrees with the log, by 2 finds"),
        (Clock(camera="a"), "clock taken as right: nothing to check it by"),
        (
            Clock(camera="a", known=False, error_s=5400),
            "clock not known: it may be 90 min 0 s off; where its clips stand is a guess",
        ),
        (Clock(camera="a", known=False, pairs=1), "clock not known; where its clips stand is a guess"),
        (Clock(camera="a", offset_s=4, tied_to=("b",)), "clock 4 s slow, by what another camera heard too"),
    ],
)
def test_offsets_in_words(clock, words):
    assert said_offset(clock) == words


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 80_000), st.integers(0, 4000)), min_size=1, max_size=8),
    st.lists(st.integers(-5000, 90_000), max_size=8),
)
def test_time_never_runs_backwards_and_stays_in_the_drawing(clips, times):
    zero = datetime(2026, 5, 3, 6, tzinfo=UTC)
    covered = [(zero + timedelta(seconds=a), zero + timedelta(seconds=a + b)) for a, b in clips]
    points = [zero + timedelta(seconds=t) for t in times]
    scale = Scale(covered, points, 100, 1100)
    drawn = [scale(t) for t in sorted([*points, *itertools.chain.from_iterable(covered)])]
    assert drawn == sorted(drawn)
    assert all(99.9 <= x <= 1100.1 for x in drawn)
    labels = [x for x, _ in scale.ticks(UTC)]
    assert labels == sorted(labels)
