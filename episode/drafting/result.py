"""One day's results, all in one value: what drafting words, the page shows and the caller writes."""

from __future__ import annotations

from datetime import date
from functools import cached_property

from pydantic import Field

from episode.models import (
    Caution,
    Chapter,
    Claim,
    Clip,
    Clock,
    Correction,
    LogEntry,
    LogFinding,
    Matched,
    Moment,
    Problem,
    Promise,
    Rest,
    Settings,
    Transcript,
    Value,
    Walk,
)


class Film(Value):
    """The finished film that the chapters and the description in ``out/`` are of.

    ``gone`` are ids of moments, claims and promises that it no longer has; ``claims`` and ``promises`` are made in
    pieces of it that come from no clip of the day (a voice-over), with what was decided about them;
    ``found_claims`` and ``found_promises`` are the same before anything was decided. ``words`` is what was heard in
    those pieces, in the trade's spelling. ``description``, ``wordings`` and ``rests`` are the film's own, as the
    day's are in ``DayResult``. ``picture`` is SVG: clips above, film below.
    """

    name: str
    gone: frozenset[str] = frozenset()
    claims: tuple[Claim, ...] = ()
    promises: tuple[Promise, ...] = ()
    found_claims: tuple[Claim, ...] = ()
    found_promises: tuple[Promise, ...] = ()
    words: Transcript = Transcript()
    chapters: tuple[Chapter, ...] = ()
    description: str = ""
    wordings: dict[str, str] = Field(default_factory=dict)
    rests: tuple[Rest, ...] = ()
    picture: str = ""


class DayResult(Value):
    """Everything known about a day, as the rooms before drafting gave it.

    ``clips`` are in programme order. ``stills`` maps a moment's id to the path of its still below ``out/``,
    with forward slashes; ``named_at`` to the second that it was known by before its still was taken, where
    it has one. ``description`` is empty until ``drafting`` has written it.
    """

    settings: Settings = Settings()
    clips: tuple[Clip, ...] = ()
    transcript: Transcript = Transcript()
    """The words as they were heard, on which everything else rests."""
    respelt: Transcript | None = None
    """The same with the trade's spelling of names, for people to read; ``None`` where nothing was replaced."""
    log: tuple[LogEntry, ...] = ()
    matched: Matched = Matched()
    claims: tuple[Claim, ...] = ()
    promises: tuple[Promise, ...] = ()
    cautions: tuple[Caution, ...] = ()
    chapters: tuple[Chapter, ...] = ()
    corrections: tuple[Correction, ...] = ()
    log_check: tuple[LogFinding, ...] = ()
    """Where log, film and photographs do not agree."""
    walk: Walk | None = None
    """Where the day went, reduced to the precision allowed."""
    problems: tuple[Problem, ...] = ()
    description: str = ""
    wordings: dict[str, str] = Field(default_factory=dict)
    """The description's other forms by file name: short, Markdown, the comment to pin."""
    rests: tuple[Rest, ...] = ()
    """What each line of the description comes from."""
    stills: dict[str, str] = Field(default_factory=dict)
    named_at: dict[str, float | None] = Field(default_factory=dict)
    cut: str = ""
    """The finished cut whose time line everything is on; empty for the raw clips in order."""
    film: Film | None = None
    """The finished film, for results that stay on the raw clips."""

    @property
    def written(self) -> Transcript:
        """The transcript for people to read."""
        return self.respelt or self.transcript

    @property
    def moments(self) -> tuple[Moment, ...]:
        """The day's moments, in programme order."""
        return self.matched.moments

    @property
    def clocks(self) -> tuple[Clock, ...]:
        """What was worked out about each camera's clock."""
        return self.matched.clocks

    @cached_property
    def entries(self) -> dict[str, LogEntry]:
        """Log rows by find number; the first row wins where a number is used twice."""
        found: dict[str, LogEntry] = {}
        for entry in self.log:
            found.setdefault(entry.find, entry)
        return found

    @cached_property
    def filmed(self) -> date | None:
        """The day it was filmed: as the settings say, else the day of the first clip."""
        if self.settings.date is not None:
            return self.settings.date
        return min(c.start for c in self.clips).date() if self.clips else None

    def still_of(self, moment: Moment) -> str | None:
        """The path of the moment's still below ``out/``, or None."""
        return self.stills.get(moment.id) or moment.still
