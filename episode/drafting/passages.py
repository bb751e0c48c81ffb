"""Passages of talk that no find fills: where we are, history, and what nobody could name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import StrEnum

from episode.drafting.timeline import starts
from episode.matching.talk import BORDER_PAUSE_S, Line, Talk, cue_patterns, cues_in
from episode.models import Clip, Moment, Seconds, Stance, Transcript, Value

# Common practice, no source; chosen on the development days of the chapters benchmark.
LONG_PASSAGE_S = 20.0
"""An announced aside or talk of the site this long gets a chapter of its own."""
LONG_UNKNOWN_S = 8.0
_SITE_LINES = 3
_UNKNOWN_LINES = 2
_SHOWN = frozenset({Stance.FOUND, Stance.EARLIER, Stance.UNSURE})


class Sort(StrEnum):
    """What a passage is about."""

    SITE = "site"
    HISTORY = "history"
    UNKNOWN = "unknown"


class Passage(Value):
    """A stretch of one clip's talk; times are seconds on the programme's timeline."""

    sort: Sort
    start: Seconds
    end: Seconds


def passages(transcript: Transcript, moments: Sequence[Moment], clips: Sequence[Clip]) -> tuple[Passage, ...]:
    """The passages that deserve a chapter of their own though no find is named in them, in order.

    An aside is announced ("let me tell you", "a bit of background") or speaks of the site in three sentences,
    lasts 20 s, and ends at a pause or where the next thing comes up. What nobody could name is a stretch between
    two pauses that says so in two sentences, and in which nothing is named. Cues: ``vocab/rules/chapter_cues.csv``.
    """
    talk, begin = Talk(transcript), starts(clips)
    found: list[Passage] = []
    for clip in clips:
        here = [m for m in moments if m.clip == clip.name]
        shown = [n.start for m in here if m.stance in _SHOWN for n in (m.mentions or ())]
        shown += [m.start for m in here if m.stance in _SHOWN and not m.mentions]
        logged = [m.start for m in here if m.find]
        for lines in _stretches(talk.lines(clip.name)):
            cues = [cues_in(line.text, cue_patterns("rules", "chapter_cues.csv")) for line in lines]
            aside = _aside(lines, cues, logged) or _unknown(lines, cues, shown)
            if aside:
                sort, start, end = aside
                at = begin[clip.name]
                found.append(Passage(sort=sort, start=round(at + start, 3), end=round(at + end, 3)))
    return tuple(found)


def _stretches(lines: Sequence[Line]) -> Iterator[list[Line]]:
    stretch: list[Line] = []
    for line in lines:
        if stretch and line.start - stretch[-1].end >= BORDER_PAUSE_S:
            yield stretch
            stretch = []
        stretch.append(line)
    if stretch:
        yield stretch


def _aside(
    lines: list[Line], cues: list[frozenset[str]], logged: Sequence[Seconds]
) -> tuple[Sort, Seconds, Seconds] | None:
    first = next((i for i, sorts in enumerate(cues) if sorts & {"site lead", "history lead"}), None)
    about = [i for i, sorts in enumerate(cues) if "site" in sorts]
    if first is None:
        if len(about) < _SITE_LINES:
            return None
        first = about[0]
    start, end = lines[first].start, lines[first].end
    for line, sorts in zip(lines[first + 1 :], cues[first + 1 :], strict=True):
        arrives = "arrive" in line.cues and not sorts
        if arrives or any(line.start - 1e-6 <= second < line.end for second in logged):
            break
        end = line.end
    if end - start < LONG_PASSAGE_S:
        return None
    within = sum(1 for i in about if start <= lines[i].start < end)
    site = "site lead" in cues[first] or within >= _SITE_LINES
    return (Sort.SITE if site else Sort.HISTORY), start, end


def _unknown(
    lines: list[Line], cues: list[frozenset[str]], shown: Sequence[Seconds]
) -> tuple[Sort, Seconds, Seconds] | None:
    start, end = lines[0].start, lines[-1].end
    if end - start < LONG_UNKNOWN_S or any(start - 1e-6 <= second < end for second in shown):
        return None
    said = sum("unknown" in sorts for sorts in cues)
    return (Sort.UNKNOWN, start, end) if said >= _UNKNOWN_LINES else None
