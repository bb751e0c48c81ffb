"""Captions as they were said: sorted, without the lines that automatic captions repeat.

Automatic captions roll: each one shows the line before again above the new one, often with a moment in
between that shows only the old line. Taken as they are, every word would be said two or three times.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from episode.speech.cues import Cue, Run

CONTIGUOUS_S = 0.5
"""A caption repeats another only if it begins within this much of its end."""
ROLLING_SHARE = 0.3
"""Of neighbouring captions, how many must repeat a whole line before a file counts as rolling."""
SAME_START_S = 0.05
MOST_ROLLED = 8
"""Rows of a caption that may be shown again; automatic ones have two to four."""


class Timed(NamedTuple):
    """What is said from ``start`` to ``end`` (seconds); ``line`` is where it stands in its file."""

    start: float
    end: float
    line: int
    runs: tuple[Run, ...]


def unrolled(cues: Sequence[Cue]) -> tuple[list[Timed], bool]:
    """The cues in order of time, without overlaps and repeated lines; and whether they are automatic captions.

    Cues that begin together are said one after the other; a cue that lasts into the next ends where the next
    begins.
    """
    ordered = sorted(cues, key=lambda cue: (cue.start, cue.end, cue.line))
    inside = any(run.start is not None for cue in ordered for row in cue.rows for run in row)
    rolling = _rolls(ordered)
    timed = _fresh(ordered) if rolling else [Timed(c.start, c.end, c.line, _flat(c.rows)) for c in ordered]
    return _apart(_together(timed)), rolling or inside


def _rolls(cues: Sequence[Cue]) -> bool:
    near = [(a, b) for a, b in pairwise(cues) if b.start - a.end <= CONTIGUOUS_S]
    repeats = sum(1 for a, b in near if _repeated(_rows(a), _rows(b)))
    return repeats >= 2 and repeats >= ROLLING_SHARE * len(near)


def _fresh(cues: Sequence[Cue]) -> list[Timed]:
    found: list[Timed] = []
    shown: list[tuple[str, ...]] = []
    until = float("-inf")
    for cue in cues:
        rows = _rows(cue)
        old = _repeated(shown, rows) if cue.start - until <= CONTIGUOUS_S else 0
        fresh = _without(_flat(cue.rows), old)
        if fresh:
            found.append(Timed(cue.start, cue.end, cue.line, fresh))
        shown, until = rows, cue.end
    return found


def _repeated(before: list[tuple[str, ...]], after: list[tuple[str, ...]]) -> int:
    """How many leading words of ``after`` are the last whole rows of ``before``, whose last row may have grown."""
    said = [word for row in after for word in row]
    for first in range(max(0, len(before) - MOST_ROLLED), len(before)):
        shown = [word for row in before[first:] for word in row]
        if said[: len(shown)] == shown:
            return len(shown)
    return 0


def _without(runs: tuple[Run, ...], drop: int) -> tuple[Run, ...]:
    found = []
    for run in runs:
        rest = run.words[drop:]
        drop = max(0, drop - len(run.words))
        if rest:
            found.append(Run(run.start if len(rest) == len(run.words) else None, rest))
    return tuple(found)


def _together(timed: list[Timed]) -> list[Timed]:
    groups: list[list[Timed]] = []
    for one in timed:
        if groups and one.start - groups[-1][0].start < SAME_START_S:
            groups[-1].append(one)
        else:
            groups.append([one])
    return [
        Timed(
            group[0].start,
            max(one.end for one in group),
            group[0].line,
            tuple(run for one in group for run in one.runs),
        )
        for group in groups
    ]


def _apart(timed: list[Timed]) -> list[Timed]:
    ends = [one.start for one in timed[1:]] + [float("inf")]
    return [one._replace(end=min(one.end, end)) for one, end in zip(timed, ends, strict=False)]


def _rows(cue: Cue) -> list[tuple[str, ...]]:
    return [tuple(word for run in row for word in run.words) for row in cue.rows]


def _flat(rows: tuple[tuple[Run, ...], ...]) -> tuple[Run, ...]:
    return tuple(run for row in rows for run in row)
