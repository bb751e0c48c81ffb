"""Places spoken aloud do not leave in the transcript."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from episode.models import Segment, Settings, Transcript, Word
from episode.speech.withheld import withhold

PRIVATE = Settings(private_places=("Old Jetty",))


def transcript(*texts: str) -> Transcript:
    segments = []
    at = 0.0
    for text in texts:
        words = []
        for token in text.split():
            words.append(Word(start=at, end=at + 0.4, word=token, probability=0.9))
            at += 0.5
        segments.append(Segment(clip="a", start=words[0].start, end=words[-1].end, text=text, words=tuple(words)))
    return Transcript(segments=tuple(segments))


def said(given_: Transcript) -> list[str]:
    return [" ".join(word.word for word in segment.words) for segment in given_.segments]


def test_a_private_place_goes_from_text_and_words():
    out = withhold(transcript("here by the old jetty, with pins."), PRIVATE)
    assert out.segments[0].text == "here by the [place withheld], with pins."
    assert said(out) == [out.segments[0].text]
    assert out.segments[0].words[-1].start == 3.0


def test_a_place_across_two_segments_goes_too():
    out = withhold(transcript("here by the old", "jetty today"), PRIVATE)
    assert "old" not in " ".join(said(out)).lower()
    assert "jetty" not in " ".join(said(out)).lower()
    assert [segment.text for segment in out.segments] == said(out)


def test_a_spoken_grid_reference_is_cut():
    assert said(withhold(transcript("at TA 7512 2534 today"), Settings())) == ["at TA 75 25 today"]


def test_nothing_private_is_untouched():
    given_ = transcript("a thimble, look.", "copper alloy")
    assert withhold(given_, PRIVATE) == given_


@given(
    st.lists(
        st.lists(st.sampled_from(["old", "Jetty", "jetty.", "pin", "a"]), min_size=1, max_size=6),
        min_size=1,
        max_size=4,
    )
)
def test_it_never_survives(texts: list[list[str]]):
    out = withhold(transcript(*(" ".join(words) for words in texts)), PRIVATE)
    assert "old jetty" not in " ".join(said(out)).lower()
