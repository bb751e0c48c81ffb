"""Chapters."""

from __future__ import annotations

from episode.models.base import Seconds, Value


class Chapter(Value):
    """A chapter; times are seconds on the programme's timeline (all clips in order)."""

    start: Seconds
    end: Seconds
    title: str
    moments: tuple[str, ...] = ()
    decided: tuple[str, ...] = ()
    """The actions of a person that shaped it, the last one last."""


class Rest(Value):
    """What a line of the description comes from, by ids, finds of the log and a key of the settings."""

    line: str
    claims: tuple[str, ...] = ()
    moments: tuple[str, ...] = ()
    finds: tuple[str, ...] = ()
    promises: tuple[str, ...] = ()
    settings: str = ""
