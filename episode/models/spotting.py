"""Namings of objects."""

from __future__ import annotations

from enum import StrEnum

from episode.models.base import Seconds, Share, Value
from episode.models.lexicon import Kind


class Stance(StrEnum):
    """What the speaker does with the object (definitions: the project's file contract)."""

    FOUND = "found"
    EARLIER = "earlier"
    RECAP = "recap"
    ABSENT = "absent"
    HOPED = "hoped"
    COMPARED = "compared"
    UNSURE = "unsure"
    ASIDE = "aside"


class How(StrEnum):
    """By which evidence a mention was spotted."""

    WRITTEN = "as written"
    OTHER_NAME = "other name"
    MISHEARING = "known mishearing"
    SOUNDS_LIKE = "sounds like"
    NEAR_SPELLING = "near spelling"


class Mention(Value):
    """One naming of one term: at most one per sentence and term."""

    clip: str
    start: Seconds
    end: Seconds
    heard: str
    term: str
    kind: Kind
    how: How
    score: Share
    stance: Stance
    quote: str = ""
    """The sentence it stands in."""
