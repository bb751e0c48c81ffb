"""The transcript as it may leave the machine: private places and fine find spots spoken aloud are withheld."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import SequenceMatcher

from episode.day.privacy import blur_text
from episode.models import Segment, Settings, Transcript, Word
from episode.once import once_for_the_same


@once_for_the_same
def withhold(transcript: Transcript, settings: Settings) -> Transcript:
    """``transcript`` with every place blurred as ``blur_text`` does, in its text and in its words.

    Places are looked for over a whole clip, so that one spoken across two segments is found. Words that stand for
    a withheld place share its time evenly; all others are as they were, and so is a transcript without any.
    """
    clips: dict[str, list[tuple[int, Word]]] = {}
    for index, segment in enumerate(transcript.segments):
        clips.setdefault(segment.clip, []).extend((index, word) for word in segment.words)
    words: dict[int, list[Word]] = {}
    changed: set[int] = set()
    for placed in clips.values():
        kept = list(_blurred(placed, settings))
        if kept != placed:
            changed.update(index for index, _ in placed)
        for index, word in kept:
            words.setdefault(index, []).append(word)
    segments = (
        _segment(segment, words.get(index, [])) if index in changed else segment
        for index, segment in enumerate(transcript.segments)
    )
    told = tuple(s for s in segments if s.words or s.text)
    if not changed and len(told) == len(transcript.segments):
        return transcript
    return transcript.model_copy(update={"segments": told})


def _blurred(placed: list[tuple[int, Word]], settings: Settings) -> Iterator[tuple[int, Word]]:
    before = [token for _, word in placed for token in word.word.split()]
    if len(before) != len(placed):  # a word that holds a space cannot be traced token by token
        before = [word.word for _, word in placed]
    text = " ".join(before)
    blurred = blur_text(text, settings)
    if blurred == text:
        yield from placed
        return
    after = blurred.split()
    for tag, a1, a2, b1, b2 in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if tag == "equal":
            yield from placed[a1:a2]
        elif b2 > b1:
            at = min(a1, len(placed) - 1)
            start, end = placed[at][1].start, placed[max(at, a2 - 1)][1].end
            step = (end - start) / (b2 - b1)
            for number, token in enumerate(after[b1:b2]):
                span = {"start": round(start + number * step, 2), "end": round(start + (number + 1) * step, 2)}
                yield placed[at][0], Word(word=token, probability=placed[at][1].probability, **span)


def _segment(segment: Segment, words: list[Word]) -> Segment:
    if tuple(words) == segment.words:
        return segment
    text = " ".join(word.word for word in words)
    return segment.model_copy(update={"text": text, "words": tuple(words)})
