"""Selects: what is kept of a day, and where it is cut."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.drafting.selects import Select, selects
from episode.drafting.trimming import BREATH_S, SILENCE_S
from episode.models import Moment, Segment, Settings, Stance, Transcript, Word
from tests.drafting.invented import CLIPS, MOMENTS, SETTINGS, clip, moment, transcript

ONE = clip("a.mp4", 0, 300)


def said(*lines: tuple[float, str]) -> Transcript:
    """Sentences at their seconds, three words a second, without a pause between the words."""
    segments = []
    for at, text in lines:
        words = tuple(
            Word(start=at + i / 3, end=at + (i + 1) / 3, word=w, probability=1) for i, w in enumerate(text.split())
        )
        segments.append(Segment(clip="a.mp4", start=at, end=words[-1].end, text=text, words=words))
    return Transcript(segments=tuple(segments))


def find(start: float, end: float, stance: Stance = Stance.FOUND, number: int = 1, **more: object) -> Moment:
    one = moment(number, 0, start, end, "pin", stance, find=str(number), **more)
    return one.model_copy(update={"clip": "a.mp4"})


def chosen(moments: list[Moment], words: Transcript, **settings: object) -> list[Select]:
    return list(selects(moments, words, (ONE,), Settings(**settings)))


def finds(found: list[Select]) -> list[Select]:
    return [s for s in found if s.sort == "find"]


def test_the_talk_that_leads_to_a_find_is_kept():
    words = said((50, "Right, off we go now."), (100, "Hang on, what is this then?"), (102.5, "That is a pin."))
    (pin,) = finds(chosen([find(102.5, 103.8)], words))
    assert pin.start == pytest.approx(98) and pin.end == pytest.approx(105.83, abs=0.01)  # and not the walk before


def test_the_talk_about_the_last_find_does_not_lead_to_the_next():
    words = said((10, "Morning all."), (100, "That is a pin."), (101.5, "And that is a buckle."))
    first, second = find(100, 101.3), find(101.5, 103, number=2)
    (both,) = finds(chosen([first, second], words))
    assert both.name == "1 pin + 2 pin" or both.moments == ("m001", "m002")
    alone = finds(chosen([find(100, 101.3, Stance.ABSENT), second], words))
    assert alone[0].start == pytest.approx(101.5, abs=0.2)


def test_a_long_silence_is_taken_out():
    words = said((100, "Here is a pin."), (160, "It is bent."))
    first, second = finds(chosen([find(100, 161)], words))
    assert first.end == pytest.approx(100 + 4 / 3 + BREATH_S, abs=0.01)
    assert second.start == pytest.approx(160 - BREATH_S) and first.name == second.name == "1 pin"


def test_the_second_that_shows_it_best_stays_although_nobody_speaks():
    words = said((100, "Here is a pin."), (160, "It is bent."))
    found = finds(chosen([find(100, 161, still_at=130.0)], words))
    assert any(s.start <= 130 <= s.end for s in found) and len(found) == 3


def test_a_find_shown_without_a_word_is_kept_whole():
    (shown,) = finds(chosen([find(100, 120)], said((10, "Morning all."))))
    assert (shown.start, shown.end) == (98, 122)


def test_walking_talk_and_long_asides_are_left_out_and_short_ones_beside_a_find_stay():
    words = said((5, "Morning all."), (100, "A pin it is."), (102, "Pins were cheap."), (200, "History goes on."))
    short, long = find(102, 103, Stance.ASIDE, 2), find(200, 240, Stance.ASIDE, 3)
    found = chosen([find(100, 101.3), short, long], words)
    assert not any(s.start <= 220 <= s.end for s in found)
    assert finds(found)[0].end >= 103


def test_an_episode_has_a_beginning_and_an_end():
    words = said((3, "Morning all, this is Skelby Sands."), (100, "That is a pin."), (290, "Mind how you go."))
    found = chosen([find(100, 101.3)], words)
    assert [s.sort for s in found] == ["opening", "find", "closing"]
    assert [s.name for s in found] == ["opening", "1 pin", "closing"]


def test_recaps_after_the_last_find_are_the_round_up_and_earlier_ones_are_not():
    words = said((5, "Morning."), (40, "So the pin again."), (100, "A buckle."), (200, "The pin and buckle."))
    moments = [find(100, 100.7), find(40, 41, Stance.RECAP, 2), find(200, 201.3, Stance.RECAP, 3)]
    assert [s.moments for s in chosen(moments, words) if s.sort == "round-up"] == [("m003",)]


def test_the_limit_leaves_out_the_least_sure_finds_and_keeps_the_ends():
    whole = selects(MOMENTS, transcript(), CLIPS, SETTINGS)
    length = sum(s.end - s.start for s in whole)
    limited = selects(MOMENTS, transcript(), CLIPS, SETTINGS.model_copy(update={"selects_minutes": length / 120}))
    assert 0 < sum(s.end - s.start for s in limited) <= length / 2
    assert {"opening", "closing"} <= {s.sort for s in limited}
    unlogged = {m.id for m in MOMENTS if m.find is None}
    assert not unlogged & {i for s in limited if s.sort == "find" for i in s.moments}


TALK = st.lists(st.tuples(st.floats(0.05, 9), st.integers(1, 9)), min_size=1, max_size=25)
SPANS = st.lists(
    st.tuples(st.floats(0, 250), st.floats(0.1, 60), st.sampled_from(list(Stance)), st.none() | st.floats(0, 300)),
    max_size=8,
)


@given(TALK, SPANS)
def test_cuts_fall_in_no_word_and_no_long_silence_stays(talk: list[tuple[float, int]], spans: list):
    at, lines = 0.0, []
    for pause, length in talk:
        at += pause
        lines.append((at, " ".join(["word"] * (length - 1) + ["end."])))
        at += length / 3
    words = said(*[line for line in lines if line[0] < 290])
    moments = [find(a, a + n, stance, i + 1, still_at=shown) for i, (a, n, stance, shown) in enumerate(spans)]
    found = chosen(moments, words)
    every = [w for s in words.segments for w in s.words]
    for one in found:
        assert 0 <= one.start < one.end <= ONE.duration
        for word in every:
            for cut in (one.start, one.end):
                assert not word.start + 0.002 < cut < word.end - 0.002, (one, word)
        # A silence longer than the limit stays only around the second that shows the find, or where nobody speaks.
        inside = [w for w in every if w.start >= one.start - 0.002 and w.end <= one.end + 0.002]
        still = any(one.start <= m.still_at <= one.end for m in moments if m.still_at is not None)
        joined = " + " in one.name or len(one.moments) > 1  # handles of two that meet
        if inside and not still and not joined:
            assert all(b.start - a.end <= SILENCE_S + 0.01 for a, b in itertools.pairwise(inside))
    # In time, and no second twice.
    assert all(a.end <= b.start + 1e-6 for a, b in itertools.pairwise(found))
    # Every find is there.
    shown = {i for s in found for i in s.moments}
    assert shown >= {m.id for m in moments if m.stance in {"found", "earlier", "unsure"} and m.start < ONE.duration}


def test_a_silence_up_to_the_limit_stays():
    words = said((100, "Here is a pin."), (100 + 4 / 3 + SILENCE_S - 0.01, "It is bent."))
    assert len(finds(chosen([find(100, 105)], words))) == 1
