"""Tracks: proposals that agree, joined into straight lines from cut time to clip time."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from episode.cutting.likeness import lags
from episode.cutting.propose import Proposal
from episode.cutting.samples import Sound

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

_REACH_S = 2.0
"""Proposals of one track may be this far apart on the cut."""
_SLACK_S = 0.045
"""How far apart two proposals of one track may be on the clip: nearly three frames of the landmarks."""
_SAME_S = 0.012


@dataclass(frozen=True)
class Track:
    """The clip's time is ``offset + speed * t`` for cut times ``t`` from ``begin`` to ``end``, where votes were.

    ``pitch`` is how much the clip's sound has to be hastened to sound like the cut: ``speed`` for a resampled
    stretch, 1 where pitch was kept. ``spread`` is the median distance of measured lags from the line, in seconds.
    """

    clip: int
    offset: float
    speed: float
    pitch: float
    begin: float
    end: float
    votes: int
    spread: float = 0.0

    def at(self, t: float) -> float:
        """The clip's time for the cut's."""
        return self.offset + self.speed * t

    @property
    def stretched(self) -> bool:
        """Whether its speed was changed and its pitch kept."""
        return abs(self.speed - self.pitch) > 2e-3


def link(proposals: Iterable[Proposal], window: float) -> list[Track]:
    """Join proposals that follow each other on nearly one line."""
    tracks: list[Track] = []
    open_tracks: dict[int, Track] = {}
    for p in sorted(proposals, key=lambda p: (p.at, -p.votes)):
        centre = p.at + window / 2
        where = p.offset + p.speed * centre
        fitting = [
            (abs(t.at(centre) - where), number)
            for number, t in open_tracks.items()
            if t.clip == p.clip and t.speed == p.speed and t.pitch == p.pitch and p.at - t.end <= _REACH_S - window
        ]
        gap, number = min(fitting, default=(9.0, -1))
        if gap <= _SLACK_S:
            old = open_tracks[number]
            # The newest offset counts, so that a slow drift is followed.
            open_tracks[number] = replace(old, offset=p.offset, end=p.at + window, votes=old.votes + p.votes)
        else:
            open_tracks[len(tracks)] = Track(p.clip, p.offset, p.speed, p.pitch, p.at, p.at + window, p.votes)
            tracks.append(open_tracks[len(tracks)])
        for done in [n for n, t in open_tracks.items() if p.at - t.end > _REACH_S]:
            tracks[done] = open_tracks.pop(done)
    for number, track in open_tracks.items():
        tracks[number] = track
    return tracks


def refine(track: Track, cut: Sound, clip: Sound) -> Track:
    """Measure the lag between cut and clip along the track and lay a robust line through it."""
    import numpy as np

    step = max(0.25, (track.end - track.begin) / 400)
    centres = np.arange(track.begin + 0.2, track.end - 0.15, step)
    if not len(centres):
        centres = np.asarray([(track.begin + track.end) / 2])
    reach = 0.064 + (0.03 if track.stretched else 0.0)
    measured, likeness = lags(track, cut, clip, centres, reach=reach)
    good = likeness > max(0.12, 0.5 * float(np.median(likeness)))
    if good.sum() < 2:
        good = likeness >= np.max(likeness)
    level, slope, spread = _robust_line(centres[good], measured[good])
    if abs(slope) * (track.end - track.begin) < 0.002 or good.sum() < 6 or track.end - track.begin < 4:
        level, slope = float(np.median(measured[good])), 0.0
        spread = float(np.median(np.abs(measured[good] - level)))
    return replace(track, offset=track.offset + level, speed=track.speed + slope, spread=spread)


def merge(tracks: Iterable[Track]) -> list[Track]:
    """One track for each line: the same line found twice (in two passes, or on both sides of a gap) is one."""
    merged: list[Track] = []
    for track in sorted(tracks, key=lambda t: (t.clip, t.begin, -t.votes)):
        for number, other in enumerate(merged):
            middle = (max(track.begin, other.begin) + min(track.end, other.end)) / 2
            if (
                other.clip == track.clip
                and abs(other.at(middle) - track.at(middle)) < _SAME_S
                and abs(other.speed - track.speed) < 1.5e-3
                and abs(other.pitch - track.pitch) < 4e-3
                and track.begin - other.end < 20
            ):
                better = max(other, track, key=lambda t: t.votes)
                merged[number] = replace(
                    better,
                    begin=min(other.begin, track.begin),
                    end=max(other.end, track.end),
                    votes=other.votes + track.votes,
                )
                break
        else:
            merged.append(track)
    return merged


def _robust_line(x: npt.NDArray[np.float64], y: npt.NDArray[np.float64]) -> tuple[float, float, float]:
    """Level at zero, slope and spread of a line through ``y``: the median of slopes, then once more near it.

    H. Theil, "A rank-invariant method of linear and polynomial regression analysis", 1950; P. K. Sen, 1968.
    """
    import numpy as np

    if len(x) < 6:
        return float(np.median(y)), 0.0, float(np.median(np.abs(y - np.median(y))))
    half = len(x) // 2
    slopes = (y[half:][:, None] - y[:half][None, :]) / (x[half:][:, None] - x[:half][None, :])
    slope = float(np.median(slopes))
    level = float(np.median(y - slope * x))
    off = np.abs(y - level - slope * x)
    near = off <= max(0.001, 3 * float(np.median(off)))
    if near.sum() >= 6:
        slope, level = (float(v) for v in np.polyfit(x[near], y[near], 1))
    return level, slope, float(np.median(np.abs(y - level - slope * x)))
