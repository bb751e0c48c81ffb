"""Sentences: the unit in which mentions and claims are counted. Common practice, no source."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from episode.models import Segment, Transcript, Word
from episode.speech.sentences import CAPTION_WORDS, sentences


def spoken(*segments: str, pause: float = 0.1, clip: str = "a") -> Transcript:
    """``|`` in the text is a pause of 0.6 s, ``||`` one of 1.5 s."""
    at, made = 0.0, []
    for text in segments:
        words = []
        for token in text.split():
            if set(token) == {"|"}:
                at += 0.6 if token == "|" else 1.5
                continue
            words.append(Word(start=at, end=at + 0.3, word=token, probability=0.9))
            at += 0.3 + pause
        made.append(Segment(clip=clip, start=words[0].start, end=words[-1].end, text=text, words=tuple(words)))
    return Transcript(segments=tuple(made))


def texts(transcript: Transcript) -> list[str]:
    return [sentence.text for sentence in sentences(transcript)]


def test_full_stops_questions_and_quotes_end_one():
    assert texts(spoken("It's a pin. Is it? He said 'no.' Fine")) == ["It's a pin.", "Is it?", "He said 'no.'", "Fine"]


def test_circa_and_initials_do_not():
    assert texts(spoken("Made c. 1700 by J. Smith of St. Ives.")) == ["Made c. 1700 by J. Smith of St. Ives."]


def test_a_long_silence_does_and_a_segment_border_does_not():
    assert texts(spoken("a bit of || green glass.", "and more")) == ["a bit of", "green glass.", "and more"]
    assert texts(spoken("It goes with that", "creamware rim. Yes.")) == ["It goes with that creamware rim.", "Yes."]


def test_a_capital_opener_at_a_segment_head_stands_for_a_forgotten_stop():
    said = spoken("Look. A penny with the bun in her hair", "And it says 1870.")
    assert texts(said) == ["Look.", "A penny with the bun in her hair", "And it says 1870."]
    assert texts(spoken("Look. I was with", "Maud today.")) == ["Look.", "I was with Maud today."]


def test_a_long_unstopped_run_breaks_at_a_short_pause():
    said = spoken("Yes. so here is one that I had from the old tip | the bronze penny came in 1860.")
    assert texts(said) == ["Yes.", "so here is one that I had from the old tip", "the bronze penny came in 1860."]


def test_captions_without_stops_break_at_pauses_and_lengths():
    said = spoken("oh look at this | its a clay pipe bowl | lovely")
    assert texts(said) == ["oh look at this", "its a clay pipe bowl", "lovely"]
    assert max(len(text.split()) for text in texts(spoken("mud " * 100))) == CAPTION_WORDS


def test_words_of_two_clips_are_never_joined():
    both = Transcript(segments=(*spoken("one", clip="a").segments, *spoken("two", clip="b").segments))
    assert [(s.clip, s.text) for s in sentences(both)] == [("a", "one"), ("b", "two")]


@given(
    st.lists(
        st.text(alphabet="ab.?|, ", min_size=1, max_size=40).filter(lambda t: t.replace("|", "").split()), max_size=4
    )
)
def test_every_word_is_in_exactly_one_sentence(segments: list[str]):
    said = spoken(*segments)
    words = [word for segment in said.segments for word in segment.words]
    found = sentences(said)
    assert [word for sentence in found for word in sentence.words] == words
    for sentence in found:
        for word, offset in zip(sentence.words, sentence.offsets, strict=True):
            assert sentence.text[offset:].startswith(word.word)
            assert word in sentence.words_at(offset, offset + len(word.word))
