from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from episode.speech.edges import drawn_in

SPEECH = [(1.0, 2.0), (3.0, 3.2), (3.25, 4.0)]


def test_a_word_is_drawn_in_from_both_pauses():
    assert drawn_in(0.5, 2.5, SPEECH) == (1.0, 2.0)
    assert drawn_in(2.4, 3.5, SPEECH) == (3.0, 3.5)


def test_a_short_stop_inside_a_word_stays():
    assert drawn_in(3.1, 3.9, SPEECH) == (3.1, 3.9)


def test_a_pause_inside_a_word_belongs_before_it():
    assert drawn_in(1.8, 3.15, SPEECH) == (3.0, 3.15)


def test_a_word_without_speech_keeps_its_times():
    assert drawn_in(2.1, 2.6, SPEECH) == (2.1, 2.6)
    assert drawn_in(1.97, 2.6, SPEECH) == (1.97, 2.6)
    assert drawn_in(0.0, 1.0, []) == (0.0, 1.0)


times = st.floats(0, 100, allow_nan=False)


@given(st.tuples(times, times).map(sorted), st.lists(times, unique=True).map(sorted))
def test_the_result_lies_inside_the_word(word, edges):
    speech = list(zip(edges[::2], edges[1::2], strict=False))
    start, end = drawn_in(word[0], word[1], speech)
    assert word[0] <= start <= end <= word[1]
