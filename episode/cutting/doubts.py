"""Runs that chance, pauses and a missing camera leave behind, put right before they are told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from episode.cutting.segment import Run
from episode.cutting.tracks import Track

SLIVER_S = 0.6
"""The shortest stretch from nowhere between two pieces that is believed."""
LONELY_S = 0.5
"""A piece this short with foreign sound on both sides is chance."""
CHANCE_S = 4.0
"""Unrelated speech was never alike for longer; what is longer is no chance."""
CHANCE_WORTH = 0.4
"""Seconds times likeness that unrelated speech reaches: 0.44 in an hour, while true pieces of 0.7 s have 0.5."""
FAINT = 0.22
"""Likeness that unrelated speech reaches for two seconds: a short piece with less is in doubt in any film."""
SPEED_HELD_S, SPEED_HELD = 4.0, 0.02
"""Seconds, and share, of a film that have to have a changed speed before a short piece with it is believed."""


def without_slivers(runs: Sequence[Run]) -> list[Run]:
    """Runs in which no sliver from nowhere stands between pieces: a pause under music looks like foreign sound.

    The pieces on both sides take half each, and their joint is looked for afterwards.
    """
    kept: list[Run] = []
    for number, run in enumerate(runs):
        before = kept[-1] if kept else None
        after = runs[number + 1] if number + 1 < len(runs) else None
        if run.track >= 0 or run.end - run.begin >= SLIVER_S or (before is None and after is None):
            begin = before.end if before is not None else 0.0
            same = before is not None and before.track == run.track and run.track >= 0
            if before is not None and same and number and runs[number - 1].track < 0:
                kept[-1] = replace(before, end=run.end)
            else:
                kept.append(replace(run, begin=begin))
        elif before is not None:
            kept[-1] = replace(before, end=(run.begin + run.end) / 2 if after is not None else run.end)
    return kept


def without_lonely(runs: Sequence[Run]) -> list[Run]:
    """Runs in which no short piece stands between foreign sound; stretches from nowhere that touch become one."""
    kept: list[Run] = []
    for number, run in enumerate(runs):
        around = [runs[k].track for k in (number - 1, number + 1) if 0 <= k < len(runs)]
        lonely = run.track >= 0 and run.end - run.begin < LONELY_S and around and all(t < 0 for t in around)
        track = -1 if lonely else run.track
        if track < 0 and kept and kept[-1].track < 0:
            kept[-1] = replace(kept[-1], end=run.end)
        else:
            kept.append(replace(run, track=track))
    return kept


def without_chance(runs: Sequence[Run], tracks: Sequence[Track]) -> list[Run]:
    """Runs in which nothing short is believed at a speed of its own, nor anything faint beside foreign sound."""
    held: dict[float, float] = {}
    for run in runs:
        if run.track >= 0:
            speed = _speed(tracks[run.track])
            held[speed] = held.get(speed, 0.0) + run.end - run.begin
    least = max(SPEED_HELD_S, SPEED_HELD * runs[-1].end) if runs else 0.0
    kept: list[Run] = []
    for number, run in enumerate(runs):
        around = [runs[k].track < 0 for k in (number - 1, number + 1) if 0 <= k < len(runs)]
        length = run.end - run.begin
        alone = run.track >= 0 and length < CHANCE_S
        if alone:
            speed = _speed(tracks[run.track])
            odd = speed != 1.0 and sum(s for v, s in held.items() if abs(v - speed) < 0.004) < least
            faint = length * run.score < CHANCE_WORTH and ((kept and kept[-1].track < 0) or any(around))
            alone = odd or bool(faint)
        kept.append(replace(run, track=-1, score=0.0) if alone else run)
    return without_lonely(kept)


def _speed(track: Track) -> float:
    return 1.0 if abs(track.speed - 1) < 2e-3 else round(track.speed, 3)
