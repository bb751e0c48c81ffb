"""Moments, clocks and what was tied to the log."""

from __future__ import annotations

from datetime import datetime

from episode.models.base import Problem, Seconds, Share, Value
from episode.models.footage import Tie
from episode.models.spotting import Mention, Stance


class Clock(Value):
    """What to add to a camera's time to get the log's time.

    ``error_s`` is half the width of a 95 % interval for the offset; ``basis`` says in words what it rests on.
    The offset holds at ``holds_at``, on the camera's own time; from there the drift is added.
    """

    camera: str
    clip: str | None = None
    offset_s: float = 0.0
    drift_ppm: float = 0.0
    pairs: int = 0
    error_s: float | None = None
    drift_error_ppm: float | None = None
    """Half the width of a 95 % interval for the drift."""
    known: bool = True
    """Whether the day tells the offset; if not, ``error_s`` is wide or missing and ``basis`` says why."""
    holds_at: datetime | None = None
    tied_to: tuple[str, ...] = ()
    """Cameras, or clips with clocks of their own, whose sound ties them to this one."""
    basis: str = ""


class Moment(Value):
    """An object's time on screen: mentions that belong together, tied to a log entry or not."""

    id: str
    clip: str
    start: Seconds
    end: Seconds
    at: datetime
    term: str | None
    stance: Stance
    find: str | None = None
    confidence: Share = 0.0
    why: tuple[str, ...] = ()
    """Why it was paired with its log entry, or why not."""
    mentions: tuple[Mention, ...] = ()
    title: str = ""
    """A few plain words for it; empty means the term."""
    still: str | None = None
    """Path of its still, below ``out/``."""
    still_at: Seconds | None = None
    """Which second of the clip shows it best; at or shortly after the first naming."""
    was: str | None = None
    """The term it had before a person renamed it."""
    decided: tuple[str, ...] = ()
    """The actions of a person that shaped it, the last one last; ``accept`` among them means looked at and right."""
    place: str = ""
    """Where it was found, already reduced to the precision that the settings allow; empty where nobody knows."""
    place_from: str = ""
    """What the place comes from: the log's grid reference, a photograph, a waypoint or the track."""


class Matched(Value):
    """What the ``matching`` room gives."""

    moments: tuple[Moment, ...] = ()
    clocks: tuple[Clock, ...] = ()
    ties: tuple[Tie, ...] = ()
    """What two cameras both heard."""
    unlogged: tuple[str, ...] = ()
    """Ids of found moments without a log entry."""
    unfilmed: tuple[str, ...] = ()
    """Find numbers of log entries without a moment."""
    problems: tuple[Problem, ...] = ()
