"""Values that cross rooms.

Plain, frozen pydantic models named after the trade's words. Every time inside a clip is in
seconds from that clip's first frame; every year is a proleptic astronomical integer (43 is
AD 43, 0 is 1 BC, -54 is 55 BC); every wall-clock time is an aware ``datetime``.
"""

from __future__ import annotations

from episode.models.base import Day, Problem, Seconds, Share, Value, Year
from episode.models.claims import Caution, Claim, ClaimKind, Evidence, Promise, PromiseKind, Verdict
from episode.models.day import Action, Correction, Decision, Disclosures, Link, LogEntry, Reference, Settings
from episode.models.drafting import Chapter, LogFinding, Rest
from episode.models.footage import Clip, StartFrom, Tie
from episode.models.lexicon import Kind, Term
from episode.models.matching import Clock, Matched, Moment
from episode.models.places import Fix, Photo, Photos, Track, Walk, Waypoint
from episode.models.record import DateSpan, Fact, Grade
from episode.models.speech import Hearing, Segment, Transcript, Word
from episode.models.spotting import How, Mention, Stance

__all__ = [
    "Action",
    "Caution",
    "Chapter",
    "Claim",
    "ClaimKind",
    "Clip",
    "Clock",
    "Correction",
    "DateSpan",
    "Day",
    "Decision",
    "Disclosures",
    "Evidence",
    "Fact",
    "Fix",
    "Grade",
    "Hearing",
    "How",
    "Kind",
    "Link",
    "LogEntry",
    "LogFinding",
    "Matched",
    "Mention",
    "Moment",
    "Photo",
    "Photos",
    "Problem",
    "Promise",
    "PromiseKind",
    "Reference",
    "Rest",
    "Seconds",
    "Segment",
    "Settings",
    "Share",
    "Stance",
    "StartFrom",
    "Term",
    "Tie",
    "Track",
    "Transcript",
    "Value",
    "Verdict",
    "Walk",
    "Waypoint",
    "Word",
    "Year",
]
