from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from episode.models import Segment, Transcript, Word
from episode.speech.sentences import CAPTION_WORDS, LONGEST_WORDS, sentences


def transcript(*clips: tuple[str, str, dict[int, float]]) -> Transcript:
    """Clips of words 0.3 s long that follow each other, with pauses (seconds) before the words given by number."""
    segments = []
    for clip, text, pauses in clips:
        words, at = [], 0.0
        for number, word in enumerate(text.split()):
            at += pauses.get(number, 0.0)
            words.append(Word(start=round(at, 2), end=round(at + 0.3, 2), word=word, probability=1))
            at += 0.3
        segments.append(Segment(clip=clip, start=0, end=at, text=text, words=tuple(words)))
    return Transcript(segments=tuple(segments))


def texts(*clips) -> list[str]:
    return [s.text for s in sentences(transcript(*clips))]


def test_stops_end_sentences_and_abbreviations_do_not():
    said = "It is c. 1862. Made by J. Codd & Co. in London, No. 5. Is that so? “Yes.” Good"
    assert texts(("a", said, {})) == [
        "It is c. 1862.",
        "Made by J. Codd & Co. in London, No. 5.",
        "Is that so?",
        "“Yes.”",
        "Good",
    ]


def test_a_long_pause_ends_a_sentence():
    assert texts(("a", "and this. one here is a stem", {4: 1.3})) == ["and this.", "one here", "is a stem"]


def test_captions_without_stops_break_at_short_pauses_and_at_length():
    said = " ".join(f"w{i}" for i in range(70))
    found = texts(("a", said, {10: 0.5}))
    assert found[0] == " ".join(f"w{i}" for i in range(10))
    assert max(len(text.split()) for text in found) == CAPTION_WORDS


def test_a_sentence_never_crosses_clips_and_may_cross_segments():
    whole = transcript(("a", "this is a", {}), ("a", "stem. and", {}), ("b", "that", {}))
    assert [(s.clip, s.text) for s in sentences(whole)] == [("a", "this is a stem."), ("a", "and"), ("b", "that")]


def test_words_at_gives_the_words_under_characters():
    (sentence,) = sentences(transcript(("a", "a clay pipe stem here.", {})))
    at = sentence.text.index("pipe stem")
    assert [w.word for w in sentence.words_at(at, at + len("pipe stem"))] == ["pipe", "stem"]
    assert [w.word for w in sentence.words_at(at + 1, at + 2)] == ["pipe"]


@given(st.lists(st.sampled_from(["a", "b.", "c?", " ", "d", "e…", "No.", "f”"]), max_size=150))
def test_every_word_is_in_one_sentence(said):
    words = tuple(Word(start=i, end=i + 0.5, word=w, probability=1) for i, w in enumerate(said))
    segment = Segment(clip="a", start=0, end=200, text="", words=words)
    found = sentences(Transcript(segments=(segment,)))
    assert [w for s in found for w in s.words] == [w for w in words if w.word.strip()]
    for sentence in found:
        assert len(sentence.words) <= LONGEST_WORDS
        assert sentence.text == " ".join(w.word for w in sentence.words)
        assert [sentence.text[o : o + len(w.word)] for o, w in zip(sentence.offsets, sentence.words, strict=True)] == [
            w.word for w in sentence.words
        ]
