"""Which track the cut follows at each instant: a Viterbi path over tracks and "from nowhere"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from episode.cutting.likeness import likeness
from episode.cutting.samples import RATE, Sound
from episode.cutting.tracks import Track

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

STEP_S = 0.04
MARGIN_S = 3.0
"""A track may hold this far beyond the windows that voted for it."""
UNKNOWN = 0.35
"""Share of the film's median likeness below which a stretch is more likely from nowhere."""
LOWEST_UNKNOWN = 0.11
"""Likeness that unrelated speech reaches by chance."""
STRETCHED_UNKNOWN = 0.2
"""The same where the lag is looked for within hundredths of a second instead of a few thousandths."""
STRETCHED_WORTH = 0.9
"""A lag that may be chosen freely makes anything a little more alike; a plain track nearly as good is the better."""
LEAST_MEDIAN = 0.3
"""A film less like the footage than this is not measured by itself."""
WEAK = 0.45
"""Share of the film's median likeness below which a stretch is told apart: another camera's sound of the same talk
measured 0.32 to 0.43, true pieces above 0.5."""
WEAK_OWN = 0.62
"""Share of the clip's own usual likeness in this film below which the same is suspected."""
WEAK_S = 1.5
"""The shortest stretch told apart in a piece that is otherwise alike."""
SWITCH = 2.2
"""What changing the track costs, in frames of full likeness."""


@dataclass(frozen=True)
class Run:
    """Cut times ``begin`` to ``end`` on track number ``track``, or on none (-1).

    ``score`` is the mean likeness where there is sound; ``rival`` the best mean of another track of another place;
    ``usual`` what the clip reaches elsewhere in the film.
    """

    begin: float
    end: float
    track: int
    score: float = 0.0
    rival: float = 0.0
    usual: float = 0.0


def segment(tracks: Sequence[Track], cut: Sound, clips: Sequence[Sound]) -> tuple[list[Run], float]:
    """The best path, and the film's median likeness on voted stretches."""
    import numpy as np

    count = max(1, int(cut.duration / STEP_S))
    centres = ((np.arange(count) + 0.5) * STEP_S).astype(np.float64)
    weight = _weights(cut, count)
    scores: list[tuple[int, Any]] = []
    voted: list[Any] = []
    for track in tracks:
        first = max(0, int((track.begin - MARGIN_S) / STEP_S))
        last = min(count, int((track.end + MARGIN_S) / STEP_S) + 1)
        there = likeness(track, cut, clips[track.clip], centres[first:last])
        if track.stretched:
            there = there * STRETCHED_WORTH
        scores.append((first, there))
        inside = there[max(0, int(track.begin / STEP_S) - first) : max(1, int(track.end / STEP_S) - first)]
        voted.append(inside[np.isfinite(inside)])
    every = np.concatenate(voted) if voted else np.zeros(0)
    alike = every[every > LOWEST_UNKNOWN]
    median = max(LEAST_MEDIAN, float(np.median(alike))) if len(alike) else 1.0
    floors = [max(STRETCHED_UNKNOWN if t.stretched else LOWEST_UNKNOWN, UNKNOWN * median) for t in tracks]
    path = _best_path(scores, floors, weight, count, median)
    return _runs(path, scores, weight, tracks, cut.duration, median), median


def _weights(cut: Sound, count: int) -> npt.NDArray[np.float32]:
    """How much a frame's likeness counts: pauses, which coding and gates change most, count little."""
    import numpy as np

    size = round(STEP_S * RATE)
    level = np.zeros(count, dtype=np.float32)
    for begin in range(0, count, 10_000):
        part = cut.samples[begin * size : min(count, begin + 10_000) * size].astype(np.float32) / 32768
        rows = part[: len(part) // size * size].reshape(-1, size)
        level[begin : begin + len(rows)] = 20 * np.log10(np.sqrt((rows**2).mean(axis=1)) + 1e-6)
    loud = float(np.percentile(level, 95))
    weight = np.clip((level - (loud - 40)) / 20, 0.08, 1).astype(np.float32)
    weight[level < -90] = 0
    return weight


def _best_path(scores: list[tuple[int, Any]], floors: list[float], weight: Any, count: int, median: float) -> list[int]:
    """Viterbi with states that exist only near their votes. State -1 is "from nowhere" and scores nothing."""
    import numpy as np

    begins: dict[int, list[int]] = {}
    for number, (first, _) in enumerate(scores):
        begins.setdefault(first, []).append(number)
    active: dict[int, float] = {-1: 0.0}
    back: list[dict[int, int]] = []
    for frame in range(count):
        best = max(active, key=lambda k: active[k])
        for number in begins.get(frame, ()):
            active[number] = -np.inf
        came: dict[int, int] = {}
        fresh: dict[int, float] = {}
        for number, so_far in active.items():
            gain = 0.0
            if number >= 0:
                first, there = scores[number]
                if frame - first >= len(there):
                    continue
                value = float(there[frame - first])
                gain = 0.0 if value != value else float(weight[frame]) * (value - floors[number]) / median  # noqa: PLR0124 - NaN
            switched = active[best] - SWITCH
            came[number] = number if so_far >= switched else best
            fresh[number] = gain + max(so_far, switched)
        active = fresh
        back.append(came)
    state = max(active, key=lambda k: active[k])
    path = [state]
    for came in reversed(back):
        state = came[state]
        path.append(state)
    path.reverse()
    return path[1:]


def _runs(
    path: list[int], scores: list[tuple[int, Any]], weight: Any, tracks: Sequence[Track], end: float, median: float
) -> list[Run]:
    import numpy as np

    edges = [0, *(k for k in range(1, len(path)) if path[k] != path[k - 1]), len(path)]
    usual = _usual(path, scores, weight, tracks, median)
    parted = [
        low + at
        for low, high in pairwise(edges)
        if path[low] >= 0
        for at in _partings(scores[path[low]], weight, low, high, usual[tracks[path[low]].clip])
    ]
    edges = sorted({*edges, *parted})
    runs = []
    for low, high in pairwise(edges):
        number = path[low]
        score = _mean(scores[number], weight, low, high) if number >= 0 else 0.0
        middle = (low + high) / 2 * STEP_S
        rival = max(
            (
                _mean(scores[k], weight, low, high)
                for k, (first, there) in enumerate(scores)
                if k != number
                and first < high
                and first + len(there) > low
                and (number < 0 or not _same_place(tracks[k], tracks[number], middle))
            ),
            default=0.0,
        )
        until = end if high == len(path) else high * STEP_S
        own = usual[tracks[number].clip] if number >= 0 else 0.0
        runs.append(Run(low * STEP_S, until, number, score, float(max(0.0, rival)), own))
    return [r for r in runs if np.isfinite(r.score)]


def _usual(
    path: list[int], scores: list[tuple[int, Any]], weight: Any, tracks: Sequence[Track], median: float
) -> dict[int, float]:
    """What likeness each clip reaches on a path: the highest quarter of its seconds, or the film's median for few."""
    import numpy as np

    second = round(1 / STEP_S)
    means: dict[int, list[float]] = {}
    edges = [0, *(k for k in range(1, len(path)) if path[k] != path[k - 1]), len(path)]
    for low, high in pairwise(edges):
        if path[low] < 0:
            continue
        score = scores[path[low]]
        for begin in range(low, high - second, second):
            if float(weight[begin : begin + second].mean()) > 0.3:
                means.setdefault(tracks[path[low]].clip, []).append(_mean(score, weight, begin, begin + second))
    usual = {clip: float(np.percentile(m, 75)) if len(m) >= 8 else median for clip, m in means.items()}
    return {track.clip: usual.get(track.clip, median) for track in tracks}


def _partings(score: tuple[int, Any], weight: Any, low: int, high: int, usual: float) -> list[int]:
    """Frames after ``low`` at which the likeness of one track changes between usual and weak, for long enough.

    An editor who cuts to another camera in step leaves the sound on one line; only its likeness falls.
    """
    import numpy as np

    first, there = score
    value = np.full(high - low, np.nan)
    one, two = max(low, first), min(high, first + len(there))
    value[one - low : two - low] = there[one - first : two - first]
    share = np.where(np.isfinite(value), weight[low:high], 0.0)
    value = np.where(share > 0, np.nan_to_num(value), 0.0)
    least = round(WEAK_S / STEP_S)
    if high - low < 2 * least:
        return []
    # Two states with a price on changing: frames above the middle of weak and usual speak for "usual".
    gains = share * (value / usual - (WEAK_OWN + 1) / 2)
    price = 0.12 * least
    fair, weak = 0.0, 0.0
    stays = np.zeros((high - low, 2), dtype=bool)
    for k, gain in enumerate(gains.tolist()):
        stays[k] = fair >= weak - price, weak >= fair - price
        fair, weak = max(fair, weak - price) + gain, max(weak, fair - price) - gain
    state = int(weak > fair)
    states = np.zeros(high - low, dtype=np.int8)
    for k in range(high - low - 1, -1, -1):
        states[k] = state
        if not stays[k, state]:
            state = 1 - state
    return _weak_edges(states, value, share, least, usual)


def _weak_edges(states: Any, value: Any, share: Any, least: int, usual: float) -> list[int]:
    """Where weak stretches of at least ``least`` frames begin and end, if they really are weak."""
    import numpy as np

    edges = [0, *(np.flatnonzero(np.diff(states)) + 1).tolist(), len(states)]
    found: set[int] = set()
    for low, high in pairwise(edges):
        heard = float(share[low:high].sum())
        if states[low] == 1 and high - low >= least and heard > 0.3 * (high - low):
            mean = float((value[low:high] * share[low:high]).sum()) / heard
            if mean < WEAK_OWN * usual:
                found |= {low, high}
    return sorted(found - {0, len(states)})


def _same_place(one: Track, other: Track, t: float) -> bool:
    return one.clip == other.clip and abs(one.at(t) - other.at(t)) < 0.1


def _mean(score: tuple[int, Any], weight: Any, low: int, high: int) -> float:
    import numpy as np

    first, there = score
    one, two = max(low, first), min(high, first + len(there))
    if two - one < 0.8 * (high - low):
        return 0.0
    value, share = there[one - first : two - first], weight[one:two]
    sounding = np.isfinite(value) & (share > 0)
    if not sounding.any():
        return 0.0
    return float(np.average(np.maximum(value[sounding], 0), weights=share[sounding]))
