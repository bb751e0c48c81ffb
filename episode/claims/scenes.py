"""Each sentence with what is in it and what was on screen while it was said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from episode.models import Mention, Moment, Transcript
from episode.speech.sentences import Sentence, sentences

LINGERS_S = 20.0
"""How long after an object's moment "it" may still mean that object."""


@dataclass(frozen=True)
class Placed:
    """A mention with the characters of its sentence that it covers."""

    mention: Mention
    at: int
    until: int


@dataclass(frozen=True)
class Scene:
    """A sentence, its mentions in order, and the moment that contains it (or has just passed)."""

    sentence: Sentence
    mentions: tuple[Placed, ...]
    moment: Moment | None
    inside: bool

    @property
    def text(self) -> str:
        """The sentence's words."""
        return self.sentence.text


def scenes(transcript: Transcript, mentions: Sequence[Mention], moments: Sequence[Moment]) -> list[Scene]:
    """Every sentence as a scene, in the transcript's order."""
    by_clip: dict[str, list[Mention]] = {}
    for mention in mentions:
        by_clip.setdefault(mention.clip, []).append(mention)
    shown: dict[str, list[Moment]] = {}
    for moment in moments:
        shown.setdefault(moment.clip, []).append(moment)
    found = []
    for sentence in sentences(transcript):
        placed = [
            _placed(sentence, m)
            for m in by_clip.get(sentence.clip, ())
            if m.start < sentence.end and m.end > sentence.start
        ]
        now, inside = _moment(sentence, shown.get(sentence.clip, []))
        inorder = tuple(sorted((p for p in placed if p), key=lambda p: (p.at, p.until)))
        found.append(Scene(sentence, inorder, now, inside))
    return found


def _placed(sentence: Sentence, mention: Mention) -> Placed | None:
    covered = [
        (offset, offset + len(word.word.strip()))
        for word, offset in zip(sentence.words, sentence.offsets, strict=True)
        if word.start < mention.end - 0.001 and word.end > mention.start + 0.001
    ]
    if not covered:
        return None
    heard = sentence.text[covered[0][0] : covered[-1][1]]
    return Placed(mention, covered[0][0], covered[0][0] + len(heard.rstrip('.,;:!?…"”)')))


def _moment(sentence: Sentence, moments: list[Moment]) -> tuple[Moment | None, bool]:
    middle = (sentence.start + sentence.end) / 2
    containing = [m for m in moments if m.start - 0.5 <= middle <= m.end + 0.5]
    if containing:
        return min(containing, key=lambda m: m.end - m.start), True
    past = [m for m in moments if m.end <= middle and middle - m.end <= LINGERS_S]
    coming = [m for m in moments if m.start >= sentence.start and m.start - sentence.end < 2.0]
    if past:
        return max(past, key=lambda m: m.end), False
    return (min(coming, key=lambda m: m.start), False) if coming else (None, False)
