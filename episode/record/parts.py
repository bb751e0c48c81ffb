"""Parts of a stretch of time: early, mid, late, halves, quarters, the turn."""

from __future__ import annotations

from dataclasses import dataclass

from episode.record.tokens import Token


@dataclass(frozen=True, slots=True)
class Part:
    """A part's name as the conventions have it, and the index after it."""

    name: str
    end: int


_SINGLE = {
    "early": "early",
    "earlier": "early",
    "mid": "mid",
    "middle": "mid",
    "late": "late",
    "later": "late",
    "latter": "late",
}
_OF = {
    "beginning": "early",
    "start": "early",
    "opening": "early",
    "dawn": "early",
    "middle": "mid",
    "end": "late",
    "close": "late",
    "turn": "turn",
}
_COUNTED = {
    ("first", "half"): "first half",
    ("1st", "half"): "first half",
    ("second", "half"): "second half",
    ("latter", "half"): "second half",
    ("later", "half"): "second half",
    ("last", "half"): "second half",
    ("first", "quarter"): "first quarter",
    ("second", "quarter"): "second quarter",
    ("third", "quarter"): "third quarter",
    ("fourth", "quarter"): "last quarter",
    ("last", "quarter"): "last quarter",
    ("final", "quarter"): "last quarter",
    ("early", "part"): "early",
    ("earlier", "part"): "early",
    ("first", "part"): "early",
    ("middle", "part"): "mid",
    ("late", "part"): "late",
    ("later", "part"): "late",
    ("latter", "part"): "late",
    ("last", "part"): "late",
    ("opening", "years"): "early",
    ("early", "years"): "early",
    ("closing", "years"): "late",
    ("last", "years"): "late",
    ("tail", "end"): "late",
    ("back", "end"): "late",
    ("very", "end"): "late",
    ("very", "beginning"): "early",
    ("very", "start"): "early",
}
FIRST_WORDS = frozenset({*_SINGLE, *_OF, *(first for first, _ in _COUNTED), "very"})


def part_at(words: list[Token], at: int) -> Part | None:
    """The part at ``at`` with what links it to its unit: "late", "mid-", "the end of the", "second half of the"."""
    if at < len(words) and words[at].word == "the":
        at += 1
    if at >= len(words):
        return None
    if words[at].word == "very" and at + 1 < len(words) and words[at + 1].word in {"early", "late"}:
        at += 1
    word = words[at].word
    if at + 1 < len(words):
        counted = _COUNTED.get((word, words[at + 1].word))
        if counted:
            return Part(counted, _of_the(words, at + 2))
        if word in _OF and words[at + 1].word == "of":
            return Part(_OF[word], _of_the(words, at + 1))
    if word in _SINGLE:
        end = at + 1
        if end < len(words) and words[end].word == "-":
            end += 1
        if end + 1 < len(words) and words[end].word == "ish":
            end += 1
        return Part(_SINGLE[word], _of_the(words, end))
    return None


def _of_the(words: list[Token], at: int) -> int:
    if at < len(words) and words[at].word == "of":
        at += 1
    if at < len(words) and words[at].word == "the":
        at += 1
    return at
