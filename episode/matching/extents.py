"""Where a find comes into play, before it is named, and where talk leaves it."""

from __future__ import annotations

from collections.abc import Sequence

from episode.matching.grouping import Group
from episode.matching.talk import BORDER_PAUSE_S, Line, Talk

# Common practice, no source: how far ahead of its name a find is teased, and how long it is talked about after.
LONGEST_TEASE_S = 25.0
LONGEST_STOOP_S = 12.0
LONGEST_CRY = 6
"""Words of a cry before a pause ("hang on, what's this"); longer sentences end what was said before."""
FRESH_START_S = 40.0
"""Talk that began afresh after a pause this long before the naming leads up to it (chosen on the development days
of the chapters benchmark)."""
LONGEST_AFTERTALK_S = 25.0


def extents(groups: Sequence[Group], clip: str, talk: Talk) -> list[tuple[float, float]]:
    """Start and end of each group of one clip, in seconds.

    A find starts where it catches the eye ("hang on, what's this"), at most 25 s before it is named and
    never inside what is said of the find before; it ends where the talk about it stops, a pause falls, or
    the next find comes into play. Other groups span the sentences they stand in.
    """
    starts: dict[int, float] = {}
    finds = [index for index, found in enumerate(groups) if found.find]
    floor = 0.0
    for index in finds:
        found = groups[index]
        starts[index] = _start(found, clip, talk, floor)
        following = min((groups[i].first for i in finds if groups[i].first > found.first), default=float("inf"))
        floor = _sentence_end(found, following, clip, talk)
    spans: list[tuple[float, float]] = []
    for index, found in enumerate(groups):
        if index not in starts:
            spans.append(_sentences(found, talk))
            continue
        until = min((starts[i] for i in finds if i > index and starts[i] > starts[index]), default=float("inf"))
        others = [m.start for g in groups if g is not found for m in g.mentions]
        spans.append((starts[index], _end(found, clip, talk, starts[index], until, others)))
    return spans


def _first(found: Group) -> float:
    return min(m.start for m in found.mentions)


def _sentence_end(found: Group, following: float, clip: str, talk: Talk) -> float:
    """End of the sentence of its last mention, cut where the next find is named in the same sentence."""
    last = max((m for m in found.mentions if m.start < following), key=lambda m: m.end, default=found.core[0])
    index = talk.at(clip, last.start)
    end = talk.lines(clip)[index].end if index is not None else last.end
    return max(last.end, end) if end <= following else last.end


def _start(found: Group, clip: str, talk: Talk, floor: float) -> float:
    first = _first(found)
    index = talk.at(clip, first)
    lines = talk.lines(clip)
    if index is None or lines[index].end < first:
        return first
    here = lines[index].start
    if here < floor - 1e-6:
        return max(min(first, found.first), 0.0)
    return _walk_back(lines, index, found.first, floor)


def _walk_back(lines: Sequence[Line], index: int, named: float, floor: float) -> float:
    """Back over the sentences of the stretch to where the find comes into play.

    Talk that began afresh after a pause belongs to the find, except for leave-taking at its head. The pause is
    crossed only to a short cry ("hang on, what's this"): the speaker stoops for it. Where talk runs on from
    the find before, the earliest sentence that announces something begins the next one.
    """
    start = lines[index].start
    for at in range(index - 1, -1, -1):
        line, pause = lines[at], lines[at + 1].start - lines[at].end
        announces = bool(line.cues & {"arrive", "tease"}) and "leave" not in line.cues
        within = line.start >= floor - 1e-6 and named - line.start <= LONGEST_TEASE_S
        if pause >= BORDER_PAUSE_S:
            start = min(start, _fresh(lines, at + 1, index, named))
            short = len(line.text.split()) <= LONGEST_CRY
            if not (announces and short and within and pause <= LONGEST_STOOP_S):
                break
        elif line.start < floor - 1e-6 or named - line.start > FRESH_START_S:
            break
        if announces and within:
            start = min(start, line.start)
    return start


def _fresh(lines: Sequence[Line], first: int, index: int, named: float) -> float:
    """Start of the talk that began at a line, without the leave-taking at its head; never if too long ago."""
    if named - lines[first].start > FRESH_START_S:
        return named
    for line in lines[first:index]:
        if "leave" not in line.cues:
            return line.start
    return lines[index].start


def _sentences(found: Group, talk: Talk) -> tuple[float, float]:
    lines = [talk.line_of(m) for m in found.mentions]
    start = min(_first(found), *(line.start for line in lines))
    return start, max(found.last, *(line.end for line in lines))


def _end(found: Group, clip: str, talk: Talk, start: float, until: float, others: Sequence[float]) -> float:
    mentions = [m for m in found.mentions if m.start < until] or found.mentions
    last = max(mentions, key=lambda m: m.end)
    end = last.end
    index = talk.at(clip, last.start)
    lines = talk.lines(clip)
    if index is not None and lines[index].end >= last.start:
        end = max(end, lines[index].end)
        for at in range(index + 1, len(lines)):
            line = lines[at]
            if line.start - end >= BORDER_PAUSE_S or line.start >= until or line.end - last.end > LONGEST_AFTERTALK_S:
                break
            if "arrive" in line.cues or any(line.start <= other < line.end for other in others):
                break
            end = max(end, line.end)
            if "leave" in line.cues:
                break
    return max(start, min(end, until) if until > last.end else last.end)
