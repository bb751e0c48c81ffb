"""Which places in the raw footage a stretch of the cut may have come from, by votes of landmarks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from episode.cutting.landmarks import FRAMES_A_SECOND, HASHES, Landmarks, landmarks, peaks
from episode.cutting.samples import Sound, mapped_anew

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

FEWEST_VOTES = 9
"""Unrelated sound seldom gets more in two seconds; a second's window needs two thirds of it."""

HANDS = 2
"""Threads for fingerprints and decoding: both leave the interpreter's lock alone, and each more costs memory."""

_GAP_FRAMES = 4096
"""Between clips on the common time line, so that no window's votes add up across two clips."""


class Proposal(NamedTuple):
    """``offset`` is seconds: the clip's time is ``offset + speed * at``. ``pitch`` is 1 where pitch was kept."""

    at: float
    clip: int
    offset: float
    speed: float
    pitch: float
    votes: int


@dataclass(frozen=True)
class Index:
    """Landmarks of all clips, sorted by hash, on one line of frames with gaps between the clips.

    Those of hash ``h`` are ``frames[starts[h]:starts[h + 1]]``.
    """

    starts: npt.NDArray[np.int32]
    frames: npt.NDArray[np.int32]
    begins: npt.NDArray[np.int64]


def index_of(sounds: Iterable[Sound]) -> Index:
    """Index every clip's landmarks. Hashes so common that they say nothing (hum, a fixed tone) are left out."""
    import numpy as np

    hashes, frames, begins, begin = [], [], [], 0
    listed = list(sounds)
    with ThreadPoolExecutor(HANDS) as hands:
        for sound, marks in zip(listed, hands.map(_marks, listed), strict=True):
            hashes.append(marks.hashes)
            frames.append((marks.frames + begin).astype(np.int32))
            begins.append(begin)
            begin += round(sound.duration * FRAMES_A_SECOND) + _GAP_FRAMES
    hashed = np.concatenate(hashes) if hashes else np.zeros(0, np.uint32)
    timed = np.concatenate(frames) if frames else np.zeros(0, np.int32)
    hashes.clear()
    frames.clear()
    order = np.argsort(hashed, kind="stable").astype(np.int32)
    timed = timed[order]
    del order
    count = np.bincount(hashed, minlength=HASHES)
    crowded = max(24, len(hashed) // 40_000)
    kept = np.repeat(count <= crowded, count)
    count[count > crowded] = 0
    return Index(np.concatenate([[0], np.cumsum(count)]).astype(np.int32), timed[kept], np.asarray(begins, np.int64))


def _marks(sound: Sound) -> Landmarks:
    return landmarks(peaks(mapped_anew(sound)))


def propose(
    index: Index,
    marks: Landmarks,
    at: Sequence[float],
    *,
    window: float,
    speed: float = 1.0,
    pitch: float = 1.0,
    begin: float = 0.0,
    best: int = 3,
) -> list[Proposal]:
    """The best places for the windows of ``window`` seconds that begin ``at`` seconds on the cut.

    ``marks`` are landmarks of the cut on the raw footage's scale of time (a second of cut is ``speed`` seconds there),
    counted from ``begin`` seconds on the cut.
    """
    import numpy as np

    proposals: list[Proposal] = []
    if not len(index.frames) or not len(marks.hashes):
        return proposals
    low = index.starts[marks.hashes]
    many = index.starts[marks.hashes + 1] - low
    fewest = max(5, round(FEWEST_VOTES * min(1.0, (window + 1) / 3)))
    for moment in at:
        first = (moment - begin) * speed * FRAMES_A_SECOND
        one, two = np.searchsorted(marks.frames, [first, first + window * speed * FRAMES_A_SECOND])
        counts = many[one:two]
        total = int(counts.sum())
        if total < fewest:
            continue
        source = np.repeat(np.arange(one, two), counts)
        inside = np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts)
        shifts = index.frames[low[source] + inside] - np.rint(marks.frames[source]).astype(np.int64)
        for shift, votes in _winners(shifts, fewest, best):
            middle = shift + first + window * speed * FRAMES_A_SECOND / 2
            clip = int(np.searchsorted(index.begins, middle, side="right")) - 1
            if clip < 0:
                continue
            # raw = (shift - begins) / fps + (t - begin) * speed
            offset = (shift - float(index.begins[clip])) / FRAMES_A_SECOND - begin * speed
            proposals.append(Proposal(moment, clip, offset, speed, pitch, votes))
    return proposals


def _winners(shifts: npt.NDArray[np.int64], fewest: int, best: int) -> list[tuple[float, int]]:
    """The shifts with most votes, each with its neighbours' (a window may straddle two frames)."""
    import numpy as np

    values, counts = np.unique(shifts, return_counts=True)
    likely = np.flatnonzero(counts >= max(2, fewest // 4))
    if not len(likely):
        return []
    wide = counts[likely].astype(np.float64)
    centre = values[likely] * wide
    for step in (-2, -1, 1, 2):
        place = np.searchsorted(values, values[likely] + step)
        place = np.minimum(place, len(values) - 1)
        there = values[place] == values[likely] + step
        wide += np.where(there, counts[place], 0)
        centre += np.where(there, counts[place] * values[place], 0)
    chosen: list[tuple[float, int]] = []
    for k in np.argsort(-wide, kind="stable"):
        shift = float(centre[k] / wide[k])
        if wide[k] < fewest or len(chosen) == best:
            break
        if all(abs(shift - other) > 4 for other, _ in chosen):
            chosen.append((shift, int(wide[k])))
    return chosen
