"""Chapters."""

from __future__ import annotations

from typing import Literal

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
    """What a line of the description comes from, by ids, finds of the log and a key of the settings.

    ``said`` are places in the transcript, as clip and second. ``within`` says that it is a sentence of a longer line.
    """

    line: str
    claims: tuple[str, ...] = ()
    moments: tuple[str, ...] = ()
    finds: tuple[str, ...] = ()
    promises: tuple[str, ...] = ()
    settings: str = ""
    said: tuple[tuple[str, Seconds], ...] = ()
    within: bool = False


LogFindingKind = Literal[
    "filmed, not logged",
    "logged, not filmed",
    "date differs",
    "maker differs",
    "number missing",
    "number twice",
    "no number",
    "photo missing",
    "photo not named",
]


class LogFinding(Value):
    """One thing to look at in the find log: where log, film and photographs do not agree.

    ``row`` is the row's number in the file; ``start`` is in seconds of ``clip``.
    """

    kind: LogFindingKind
    row: int | None = None
    find: str | None = None
    clip: str | None = None
    start: Seconds | None = None
    moment: str | None = None
    what: str
    todo: str
