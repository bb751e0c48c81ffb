"""Words, with times."""

from __future__ import annotations

from typing import Literal

from episode.models.base import Seconds, Share, Value


class Word(Value):
    """One word as transcribed. ``as_heard`` keeps the recogniser's own words where a spelling replaced them."""

    start: Seconds
    end: Seconds
    word: str
    probability: Share
    as_heard: str | None = None


class Segment(Value):
    """A stretch of speech in one clip."""

    clip: str
    start: Seconds
    end: Seconds
    text: str
    words: tuple[Word, ...] = ()


class Hearing(Value):
    """How a clip's words were come by: ``how`` is ``recognised``, ``transcript file``, ``no sound`` or ``failed``."""

    clip: str
    how: Literal["recognised", "transcript file", "no sound", "failed"]
    model: str | None = None
    language: str | None = None


class Transcript(Value):
    """The words of the whole day, clip after clip in order of time."""

    segments: tuple[Segment, ...] = ()
    clips: tuple[Hearing, ...] = ()
