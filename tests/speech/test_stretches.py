from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from episode.errors import UnusableMedia
from episode.speech.stretches import stretches

RATE = 16_000


class Piece(NamedTuple):
    start: float
    samples: np.ndarray


def noise(seconds: float, level: float = 0.1) -> np.ndarray:
    return np.random.default_rng(3).normal(0, level, int(seconds * RATE)).astype(np.float32)


def test_the_cut_falls_into_the_quietest_moment():
    sound = noise(20)
    sound[int(8.0 * RATE) : int(8.6 * RATE)] *= 0.001
    first, *_ = stretches([Piece(0.0, sound)], longest=10)
    assert first.end == pytest.approx(8.3, abs=0.2)


@pytest.mark.hears
def test_the_cut_falls_between_spoken_words(clip_of):
    """In the recording, President Kennedy pauses between about 4.4 and 5.4 s, and 7.5 and 8.1 s (listened to)."""
    from episode.footage.sound import pieces

    clip = clip_of("jfk-1961.flac")
    first, second = stretches(pieces(clip, seconds=3), longest=8)
    assert 4.4 < first.end < 5.5 or 7.5 < first.end < 8.2
    assert first.end == second.start


@settings(max_examples=40, deadline=None)
@given(
    lengths=st.lists(st.integers(0, 3 * RATE), max_size=5),
    longest=st.sampled_from([1.0, 1.7, 4.0]),
)
def test_no_sample_is_lost_or_said_twice(lengths, longest):
    whole = noise(sum(lengths) / RATE + 1)[: sum(lengths)]
    pieces, at = [], 0
    for length in lengths:
        pieces.append(Piece(at / RATE, whole[at : at + length]))
        at += length
    found = list(stretches(pieces, longest=longest))
    assert all(0 < len(s.samples) <= longest * RATE for s in found)
    assert np.array_equal(np.concatenate([s.samples for s in found]) if found else whole[:0], whole)
    at = 0
    for stretch in found:
        assert stretch.start == pytest.approx(at / RATE, abs=1e-6)
        at += len(stretch.samples)


def test_a_gap_in_the_sound_ends_a_stretch():
    found = list(stretches([Piece(0.0, noise(1)), Piece(1.0, noise(1)), Piece(5.0, noise(1))], longest=60))
    assert [(s.start, s.end) for s in found] == [(0.0, 2.0), (5.0, 6.0)]


def test_what_came_before_an_error_is_given_first():
    def broken():
        yield Piece(0.0, noise(2))
        raise UnusableMedia("torn")

    found = []
    with pytest.raises(UnusableMedia):
        for stretch in stretches(broken(), longest=60):
            found.append(stretch)
    assert [s.end for s in found] == [2.0]


def test_samples_that_are_no_numbers_become_silence():
    (stretch,) = stretches([Piece(0.0, np.array([np.nan, np.inf, 0.5], dtype=np.float32))])
    assert np.isfinite(stretch.samples).all()
