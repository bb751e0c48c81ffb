from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.cutting.pieces import CutPiece, Traced
from episode.cutting.retime import retime
from episode.models import (
    Claim,
    Hearing,
    How,
    Kind,
    Mention,
    Moment,
    Promise,
    Segment,
    Stance,
    Tie,
    Transcript,
    Verdict,
    Word,
)


def moment(id_: str, clip: str, start: float, end: float, **more: object) -> Moment:
    return Moment(
        id=id_, clip=clip, start=start, end=end, at=datetime(2026, 5, 3, 9, tzinfo=UTC), term="pipe bowl",
        stance=Stance.FOUND, **more,  # type: ignore[arg-type]
    )  # fmt: skip


def mention(clip: str, start: float) -> Mention:
    return Mention(
        clip=clip, start=start, end=start + 1, heard="pipe bowl", term="pipe bowl", kind=Kind.OBJECT,
        how=How.WRITTEN, score=1, stance=Stance.FOUND,
    )  # fmt: skip


def claim(start: float, end: float) -> Claim:
    return Claim.model_validate(
        {"id": "c1", "clip": "a.mp4", "start": start, "end": end, "quote": "about 1700", "about": "pipe bowl", "find": None,
         "kind": "date", "edtf": "1700~", "from": 1700, "to": 1700, "verdict": Verdict.UNREFERENCED}
    )  # fmt: skip


TRACED = Traced(
    cut="film.mp4",
    duration=60,
    how="sound",
    pieces=(
        CutPiece(cut_start=0, cut_end=3, clip="a.mp4", clip_start=102),  # a teaser
        CutPiece(cut_start=3, cut_end=10),  # titles
        CutPiece(cut_start=10, cut_end=30, clip="a.mp4", clip_start=95),
        CutPiece(cut_start=30, cut_end=40, clip="a.mp4", clip_start=117),  # two seconds of pause taken out
        CutPiece(cut_start=40, cut_end=60, clip="b.mp4", clip_start=0, speed=1.5),
    ),
)


def test_a_moment_has_its_times_from_where_most_of_it_is() -> None:
    told = retime(TRACED, moments=[moment("m1", "a.mp4", 100, 110, mentions=(mention("a.mp4", 103),), still_at=104)])
    (moved,) = told.moments
    assert (moved.clip, moved.start, moved.end, moved.still_at) == ("film.mp4", 15, 25, 19)
    assert (moved.mentions[0].clip, moved.mentions[0].start, moved.mentions[0].end) == ("film.mp4", 18, 19)
    assert [(a.start, a.end, a.share) for a in told.appearances] == [(15, 25, 1.0), (0, 3, 0.3)]
    assert [(p.cut_start, p.cut_end) for p in told.unknown] == [(3, 10)]


def test_a_pause_taken_out_does_not_split_a_moment() -> None:
    told = retime(TRACED, moments=[moment("m1", "a.mp4", 110, 120)])
    assert (told.moments[0].start, told.moments[0].end) == (25, 33)
    assert told.appearances[0].share == pytest.approx(0.8)


def test_what_was_cut_out_is_dropped_and_said() -> None:
    told = retime(
        TRACED,
        moments=[moment("m1", "a.mp4", 10, 20), moment("m2", "a.mp4", 94, 95.2), moment("m3", "c.mp4", 0, 5)],
        claims=[claim(114, 119)],
        promises=[Promise(id="p1", clip="a.mp4", start=50, end=53, quote="link below", kind="link", text="the link")],
    )
    assert told.moments == ()
    assert {(d.what, d.id, d.why) for d in told.dropped} == {
        ("moment", "m1", "it was cut out"),
        ("moment", "m2", "only 17% of it is in the cut"),
        ("moment", "m3", "it was cut out"),
        ("promise", "p1", "it was cut out"),
    }
    assert (told.claims[0].start, told.claims[0].end) == (29, 32)  # 3 of its 5 seconds


def test_speed() -> None:
    told = retime(TRACED, moments=[moment("m1", "b.mp4", 3, 6)])
    assert (told.moments[0].start, told.moments[0].end) == (42, 44)


def test_words_follow_the_cut() -> None:
    words = tuple(Word(start=100 + k, end=100.5 + k, word=f"w{k}", probability=0.9) for k in range(18))
    transcript = Transcript(
        segments=(Segment(clip="a.mp4", start=100, end=118, text="all of it", words=words),),
        clips=(Hearing(clip="a.mp4", how="recognised", model="base"),),
    )
    moved = retime(TRACED, transcript=transcript).transcript
    assert [s.text.split() for s in moved.segments] == [
        ["w2", "w3", "w4"],
        [f"w{k}" for k in range(15)],
        ["w17"],
    ]
    assert moved.segments[0].words[0].start == 0
    assert moved.segments[1].start == 15
    assert {s.clip for s in moved.segments} == {"film.mp4"}
    assert moved.clips == (Hearing(clip="film.mp4", how="recognised", model="base"),)


@given(
    st.lists(st.tuples(st.floats(0.2, 9), st.floats(0, 90), st.floats(0.9, 1.1)), min_size=1, max_size=8),
    st.floats(0, 99),
    st.floats(1, 20),
)
def test_times_stay_on_the_cut(parts: list[tuple[float, float, float]], start: float, length: float) -> None:
    pieces, at = [], 0.0
    for size, clip_start, speed in parts:
        pieces.append(CutPiece(cut_start=at, cut_end=at + size, clip="a.mp4", clip_start=clip_start, speed=speed))
        at += size
    traced = Traced(cut="film.mp4", duration=at, how="sound", pieces=tuple(pieces))
    told = retime(traced, moments=[moment("m", "a.mp4", start, start + length, mentions=(mention("a.mp4", start),))])
    assert len(told.moments) + len(told.dropped) == 1
    for moved in told.moments:
        assert 0 <= moved.start <= moved.end <= at + 1e-3
        assert all(moved.start - 0.05 <= m.start <= m.end <= moved.end + 0.05 for m in moved.mentions)


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["a.mp4", "b.mp4", None]),
            st.integers(0, 60),
            st.integers(1, 20),
            st.sampled_from([1.0, 0.5, 2.0, 1.25]),
        ),
        min_size=1,
        max_size=8,
    ),
    st.sampled_from(["a.mp4", "b.mp4"]),
)
def test_words_are_where_the_reference_library_puts_them(parts: list, clip: str) -> None:
    """Against OpenTimelineIO: a word of each second of a clip, through repeats, reorderings and speeds.

    The library places an item on its track (``range_in_parent``); its ``TimeTransform`` scales and shifts times.
    """
    import opentimelineio as otio

    rate = 1000
    track = otio.schema.Track("V1")
    pieces, at = [], 0.0
    for name, start, length, speed in parts:
        span = otio.opentime.TimeRange(
            otio.opentime.RationalTime(start * rate, rate), otio.opentime.RationalTime(length * rate, rate)
        )
        item = otio.schema.Clip(name or "", source_range=span) if name else otio.schema.Gap(source_range=span)
        track.append(item)
        pieces.append(
            CutPiece(cut_start=at, cut_end=at + length, clip=name, clip_start=start if name else 0, speed=speed)
        )
        at += length
    expected = []
    for (name, start, length, speed), item in zip(parts, track, strict=True):
        if name != clip:
            continue
        there = item.range_in_parent().start_time
        for second in range(100):
            if not start <= second + 0.25 < start + length * speed:
                continue
            told = []
            for edge in (second, second + 0.5):
                inside = otio.opentime.RationalTime((edge - start) * rate, rate)
                moved = otio.opentime.TimeTransform(offset=there, scale=1 / speed, rate=rate).applied_to(inside)
                told.append(min(max(moved.to_seconds(), there.to_seconds()), there.to_seconds() + length))
            expected.append((f"w{second}", *told))
    words = tuple(Word(start=k, end=k + 0.5, word=f"w{k}", probability=0.9) for k in range(100))
    transcript = Transcript(segments=(Segment(clip=clip, start=0, end=100, text="all", words=words),))
    traced = Traced(cut="film.mp4", duration=at, how="otio", pieces=tuple(pieces))
    got = [w for s in retime(traced, transcript=transcript).transcript.segments for w in s.words]
    assert [w.word for w in got] == [e[0] for e in expected]
    assert [(w.start, w.end) for w in got] == [
        (pytest.approx(a, abs=2e-3), pytest.approx(b, abs=2e-3)) for _, a, b in expected
    ]


def test_a_word_on_a_joint_belongs_to_the_side_with_its_middle() -> None:
    pieces = (
        CutPiece(cut_start=0, cut_end=10, clip="a.mp4", clip_start=0),
        CutPiece(cut_start=10, cut_end=20, clip="a.mp4", clip_start=50),
    )
    words = (Word(start=9.5, end=10.2, word="in", probability=1), Word(start=9.9, end=10.6, word="out", probability=1),
             Word(start=49.7, end=50.5, word="here", probability=1))  # fmt: skip
    transcript = Transcript(segments=(Segment(clip="a.mp4", start=9, end=51, text="x", words=words),))
    traced = Traced(cut="film.mp4", duration=20, how="sound", pieces=pieces)
    got = [(w.word, w.start, w.end) for s in retime(traced, transcript=transcript).transcript.segments for w in s.words]
    assert got == [("in", 9.5, 10.0), ("here", 10.0, 10.5)]


def test_the_end_of_a_find_running_on_is_not_the_find() -> None:
    """Four of twenty seconds, after its name was said: not enough to call it shown. With its name, it is."""
    pieces = (CutPiece(cut_start=0, cut_end=4, clip="a.mp4", clip_start=16),)
    traced = Traced(cut="film.mp4", duration=4, how="sound", pieces=pieces)
    gone = retime(traced, moments=[moment("m1", "a.mp4", 0, 20, mentions=(mention("a.mp4", 3),))])
    assert (gone.moments, gone.dropped[0].why) == ((), "only 20% of it is in the cut")
    assert retime(traced, moments=[moment("m1", "a.mp4", 0, 20, mentions=(mention("a.mp4", 17),))]).moments


TWO = Traced(
    cut="film.mp4", duration=40, how="sound",
    pieces=(CutPiece(cut_start=0, cut_end=40, clip="b.mp4", clip_start=10),),
)  # fmt: skip


@pytest.mark.parametrize(
    "tie",
    [
        Tie(clip="a.mp4", other="b.mp4", shift_s=-90, drift_ppm=100),
        Tie(clip="b.mp4", other="a.mp4", shift_s=90 / (1 + 1e-4), drift_ppm=1e6 * (1 / (1 + 1e-4) - 1)),
    ],
)
def test_a_find_of_one_camera_is_in_the_film_where_the_others_sound_is(tie):
    # A second t of a is t * (1 + 100 ppm) - 90 of b (see ``Tie``), and the film shows b from its second 10 on.
    find = moment("m1", "a.mp4", 110, 120, mentions=(mention("a.mp4", 112),))
    told = retime(TWO, moments=(find,), ties=(tie,))
    (moved,) = told.moments
    assert moved.start == pytest.approx(110 * (1 + 1e-4) - 90 - 10, abs=1e-3)
    assert moved.mentions[0].start == pytest.approx(112 * (1 + 1e-4) - 100, abs=1e-3)
    assert not told.dropped and [a.moment for a in told.appearances] == ["m1"]
    assert [d.id for d in retime(TWO, moments=(find,)).dropped] == ["m1"]


def test_what_both_cameras_named_comes_once():
    tie = Tie(clip="a.mp4", other="b.mp4", shift_s=-90)
    both = moment("m1", "a.mp4", 110, 120), moment("m2", "b.mp4", 20, 30)
    assert [m.id for m in retime(TWO, moments=both, ties=(tie,)).moments] == ["m2"]


def test_a_find_before_the_other_camera_ran_stays_cut_out():
    tie = Tie(clip="a.mp4", other="b.mp4", shift_s=-90)
    assert [d.id for d in retime(TWO, moments=(moment("m1", "a.mp4", 40, 50),), ties=(tie,)).dropped] == ["m1"]
