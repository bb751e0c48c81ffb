from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.errors import UnusableInput
from episode.speech import recognise
from episode.speech.recognise import WORDLESS_S, Ear, HeardSegment, HeardWord, Recogniser, _wordless

RATE = 16_000


class Model:
    """Stands in for the loaded recogniser: gives the segments put into it, call after call."""

    supported_languages = ("en",)

    def __init__(self, *calls):
        self.calls = list(calls)
        self.asked = []

    def transcribe(self, samples, **options):
        self.asked.append((len(samples) / RATE, options))
        return iter(self.calls.pop(0)), SimpleNamespace(language="en")


def segment(start, end, text, *, ratio=1.0, probability=0.9, sure=-0.3):
    step = (end - start) / len(text.split())
    words = [
        SimpleNamespace(word=f" {w}", start=start + i * step, end=start + (i + 1) * step, probability=probability)
        for i, w in enumerate(text.split())
    ]
    return SimpleNamespace(
        start=start, end=end, text=" " + text, words=words, compression_ratio=ratio, avg_logprob=sure
    )


@pytest.fixture
def ear(monkeypatch):
    def make(*calls):
        made = Ear("tiny.en")
        made._loaded = Model(*calls)
        return made

    monkeypatch.setattr(recognise, "voiced", lambda *_, **__: [])
    return make


SOUND = np.zeros(30 * RATE, dtype=np.float32)


def texts(ear):
    segments, _ = ear.listen(SOUND)
    return [(s.start, s.text) for s in segments]


def test_decoding_never_draws_lots_and_pieces_stay_independent(ear):
    made = ear([segment(1, 2, "a pipe stem")])
    made.listen(SOUND)
    _, options = made.model.asked[0]
    assert options["temperature"] == [0.0]
    assert options["condition_on_previous_text"] is False
    assert options["beam_size"] == 5


def test_a_looping_stretch_is_searched_again_without_repeats(ear):
    made = ear(
        [segment(1, 2, "before"), segment(4, 9, "so so so so", ratio=5.0), segment(20, 21, "after")],
        [segment(0.5, 2, "a clay pipe")],
    )
    assert texts(made) == [(1, "before"), (4.5, "a clay pipe"), (20, "after")]
    length, options = made.model.asked[1]
    assert length == pytest.approx(5.0, abs=0.01)
    assert options["no_repeat_ngram_size"] > 0


def test_what_loops_still_is_left_out(ear):
    loop = segment(4, 9, "so so so so", ratio=5.0)
    assert texts(ear([segment(1, 2, "before"), loop], [loop])) == [(1, "before")]


def test_stock_phrases_in_no_time_are_left_out(ear):
    made_up = segment(29.56, 29.68, "Thanks.", probability=0.2)  # as heard at the end of a published recording
    assert texts(ear([segment(1, 2, "a stem"), made_up])) == [(1, "a stem")]
    believed = segment(29.56, 29.68, "Thanks.", probability=0.9)
    slow = segment(28, 29, "Thanks.", probability=0.2)
    assert len(texts(ear([believed]))) == len(texts(ear([slow]))) == 1


def test_devices(monkeypatch):
    import ctranslate2

    monkeypatch.setattr(ctranslate2, "get_cuda_device_count", lambda: 0)
    assert Ear("base", device="auto").device == "cpu"
    with pytest.raises(UnusableInput, match="no CUDA device"):
        Ear("base", device="cuda")
    with pytest.raises(UnusableInput, match="no such device"):
        Ear("base", device="quantum")
    monkeypatch.setattr(ctranslate2, "get_cuda_device_count", lambda: 1)
    assert Ear("base", Recogniser(language="fr"), device="auto").options == Recogniser(language="fr", compute="float16")


@pytest.mark.hears
def test_prompts_are_split_as_the_recogniser_was_trained():
    """With any folder of weights, the loaded tokenizer builds " the" as one token."""
    ids = Ear("base").model.hf_tokenizer.encode(" the tile", add_special_tokens=False).tokens
    assert ids == ["Ġthe", "Ġtile"]


@pytest.mark.parametrize(("sure", "heard"), [(-0.3, ["a pipe bowl", "and a thimble"]), (-1.2, ["a pipe bowl"])])
def test_speech_that_was_passed_over_is_listened_to_by_itself(ear, monkeypatch, sure, heard):
    """A window that ends after its first sentence: the rest of its speech has no word, and is asked for again."""
    made = ear([segment(1, 4, "a pipe bowl")], [segment(0.3, 3.3, "and a thimble", sure=sure)])
    monkeypatch.setattr(recognise, "voiced", lambda *_, **__: [(1.0, 4.0), (10.0, 13.0)])
    segments, _ = made.listen(SOUND)
    assert [s.text for s in segments] == heard
    assert [seconds for seconds, _ in made.model.asked] == pytest.approx([30.0, 3.6])
    assert all(s.start == 10.0 for s in segments[1:])


@given(
    st.lists(st.tuples(st.floats(0, 60), st.floats(0.1, 5)), max_size=8),
    st.lists(st.tuples(st.floats(0, 60), st.floats(0.05, 1)), max_size=12),
)
def test_what_has_no_word_is_speech_and_holds_no_word(speech, words):
    def apart(spans):
        placed, at = [], 0.0
        for start, length in sorted(spans):
            begin = max(at, start)
            placed.append((begin, begin + length))
            at = begin + length + 0.01
        return placed

    spoken, said = apart(speech), apart(words)
    segments = [
        HeardSegment(start=a, end=b, text="x", words=(HeardWord(start=a, end=b, word="x", probability=1),))
        for a, b in said
    ]
    for start, end in _wordless(segments, spoken):
        assert end - start >= WORDLESS_S - 1e-6
        assert not any(a < end - 1e-9 and b > start + 1e-9 for a, b in said)
        assert any(a <= start < b for a, b in spoken)
