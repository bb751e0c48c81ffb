"""Small days written by hand: talk as sentences with pauses, mentions found by their words."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from episode.models import Clip, How, Kind, LogEntry, Mention, Segment, Stance, StartFrom, Transcript, Word

NINE = datetime(2026, 5, 3, 9, 0, tzinfo=UTC)


def clip(name="cam/a.mp4", start=NINE, duration=600.0, camera="cam", start_from=StartFrom.CREATION):
    return Clip(name=name, path=Path(name), duration=duration, start=start, start_from=start_from, camera=camera)


def row(find, obj, minute=None, number=None, **more):
    time = NINE + timedelta(minutes=minute) if minute is not None else None
    return LogEntry(find=find, row=number or 2, time=time, object=obj, **more)


def talk(*lines, name="cam/a.mp4"):
    """Lines are (second, words, (heard, term, kind, stance), ...); four words a second."""
    segments, mentions = [], []
    for at, text, *named in lines:
        spoken = text.split()
        words = tuple(
            Word(start=at + 0.25 * i, end=at + 0.25 * i + 0.2, word=word, probability=1.0)
            for i, word in enumerate(spoken)
        )
        segments.append(Segment(clip=name, start=at, end=words[-1].end, text=text, words=words))
        bare = [word.strip(".,?!").lower() for word in spoken]
        for heard, term, kind, stance in named:
            wanted = heard.lower().split()
            first = next(i for i in range(len(bare)) if bare[i : i + len(wanted)] == wanted)
            mentions.append(
                Mention(
                    clip=name,
                    start=words[first].start,
                    end=words[first + len(wanted) - 1].end,
                    heard=heard,
                    term=term,
                    kind=Kind(kind),
                    how=How.WRITTEN,
                    score=1.0,
                    stance=Stance(stance),
                    quote=text,
                )
            )
    return Transcript(segments=tuple(segments)), tuple(mentions)
