"""Sentences said over one object, with the built-in lexicon and record."""

from __future__ import annotations

from datetime import date, datetime
from functools import lru_cache

from episode.claims.check import check
from episode.lexicon.book import Lexicon
from episode.lexicon.packs import load_lexicon
from episode.models import (
    Claim,
    LogEntry,
    Mention,
    Moment,
    Reference,
    Segment,
    Settings,
    Stance,
    Transcript,
    Word,
)
from episode.record.load import load_record
from episode.spotting.spot import spot

AT = datetime.fromisoformat("2026-05-03T10:00:00+01:00")
SETTINGS = Settings(date=date(2026, 5, 3), time_zone="Europe/London")


@lru_cache(maxsize=1)
def lexicon() -> Lexicon:
    return load_lexicon(None, ())


def transcript(*lines: str, clip: str = "a.mp4") -> Transcript:
    """A segment a line, 0.3 s a word, 1.5 s of silence between lines."""
    at, segments = 1.0, []
    for line in lines:
        words = []
        for piece in line.split():
            words.append(Word(start=at, end=at + 0.25, word=piece, probability=0.9))
            at += 0.3
        segments.append(Segment(clip=clip, start=words[0].start, end=words[-1].end, text=line, words=tuple(words)))
        at += 1.5
    return Transcript(segments=tuple(segments))


def moment(said: Transcript, term: str | None, find: str | None = "1", stance: Stance = Stance.FOUND) -> Moment:
    """One moment over the whole of what is said."""
    last = said.segments[-1]
    return Moment(id="m001", clip=last.clip, start=0, end=last.end + 1, at=AT, term=term, stance=stance, find=find)


def mentions(said: Transcript) -> tuple[Mention, ...]:
    return tuple(spot(said, lexicon()))


def claims(
    *lines: str,
    term: str | None = None,
    log: tuple[LogEntry, ...] = (),
    references: tuple[Reference, ...] = (),
    settings: Settings = SETTINGS,
) -> tuple[Claim, ...]:
    """The claims in what is said over ``term``."""
    said = transcript(*lines)
    moments = (moment(said, term),) if term else ()
    return check(said, mentions(said), moments, log, load_record(), lexicon(), settings, references)
