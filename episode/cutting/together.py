"""Which clips recorded the same sound at the same time, so that their cameras' clocks are tied to each other.

Landmarks propose, as they do for a finished cut (see ``landmarks``), correlation measures at many instants, and a
robust line through what it measures gives shift and relative drift. Sound takes 3 ms a metre: two microphones ten
metres apart are tied no better than to 30 ms, and no measurement of the sound can tell.
"""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from episode.cutting.landmarks import FRAMES_A_SECOND, HASHES, Landmarks, landmarks, peaks
from episode.cutting.likeness import lags
from episode.cutting.propose import HANDS
from episode.cutting.samples import RATE, Sound, mapped_anew, sound_on_disk, stretch_of
from episode.cutting.tracks import Track
from episode.errors import CannotWrite
from episode.footage.fingerprint import sample_key
from episode.models import Clip, Problem, Tie
from episode.progress import OneAtATime, Progress, Quiet
from episode.scratch import scratch
from episode.storage import write_bytes

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

METHOD = 2
"""Raised when what is kept of a clip's landmarks would no longer be the same."""
WINDOW_S = 8.0
"""Votes are counted over windows this long: in so short a time no two clocks drift a frame apart."""
FEWEST_VOTES = 14
"""Unrelated speech seldom gets half of it in eight seconds."""
LEAST_OVERLAP_S = 8.0
LEAST_LIKENESS = 0.3
"""Correlation (partly whitened, 0.4 s) of two microphones that heard the same; unrelated sound stays below 0.2."""
LEAST_SHARE = 0.4
"""Share of either recording's loudest third that must agree: what two cameras shared is not only what lay beneath
their talk, as the same music would."""
MOST_DRIFT_PPM = 300.0
REACH_S = 0.12
SEVERAL_S = 0.25
"""Measured instants are this far apart on short overlaps; at most ``MOST_INSTANTS`` are looked at."""
MOST_INSTANTS = 1500
FIRST_LOOKS = ((48, LEAST_SHARE / 4), (128, LEAST_SHARE / 2))
"""How many instants are looked at first, and the share of the loudest third of them that is too little: of sixteen one
or none where four in ten agree comes three times in a thousand."""
DISTANCE_S = 0.01
"""What stays unknown whatever is measured: some three metres between microphone and microphone."""
SAME_FILE_LIKENESS = 0.995
_AT_ONCE = 40
"""Windows whose votes are counted together."""


@dataclass(frozen=True)
class _Candidate:
    clip: int
    other: int
    shift: float
    votes: int


def together(
    clips: Sequence[Clip], *, cache: Path | None = None, progress: Progress | None = None
) -> tuple[tuple[Tie, ...], tuple[Problem, ...]]:
    """Every pair of clips of different cameras that recorded the same sound, with how they lie to each other.

    ``cache`` keeps landmarks by samples of the file's bytes, so that a day is fingerprinted once. Needs 16 kB of
    disk a second of footage while clips that may belong together are measured.
    """
    watch = progress or Quiet()
    sounding = [c for c in clips if c.audio_tracks]
    if len({c.camera for c in sounding}) < 2:
        return (), ()
    found: list[Tie] = []
    problems: list[Problem] = []
    with scratch() as folder:
        sounds = _Sounds(sounding, folder, watch, cache)
        watch.begin("listening for what two cameras heard", sum(c.duration for c in sounding))
        with ThreadPoolExecutor(HANDS) as hands:
            marks = list(hands.map(lambda n: _marks(sounding[n], n, sounds, cache), range(len(sounding))))
            likely = [
                c for some in hands.map(lambda n: _candidates(n, sounding, marks), range(len(marks))) for c in some
            ]
            likely.sort(key=lambda c: (c.clip, c.other))
            for tie, problem in hands.map(lambda c: _measured(c, sounding, sounds), likely):
                found += [tie] if tie else []
                problems += [problem] if problem else []
        watch.end()
        sounds.close()
    return tuple(sorted(found, key=lambda t: (t.clip, t.other))), tuple(problems)


def tie_of(one: Sound, two: Sound) -> Tie | None:
    """How two sounds at 8 kHz lie to each other, or None where they do not belong together."""
    marks = [landmarks(peaks(sound.samples)) for sound in (one, two)]
    for candidate in _pair(0, 1, marks[0], _by_hash(marks[1])):
        measured = _line(one, two, candidate.shift)
        if measured is not None:
            return _tie(one.name, two.name, measured)
    return None


class _Sounds:
    """Decoded clips, each once and only when asked for; several may ask at once."""

    def __init__(self, clips: Sequence[Clip], scratch: Path, watch: Progress, cache: Path | None) -> None:
        self._clips = clips
        self._scratch = scratch
        self._watch = OneAtATime(watch)
        self._cache = cache
        self._locks = [Lock() for _ in clips]
        self._held: dict[int, Sound] = {}

    def __getitem__(self, number: int) -> Sound:
        with self._locks[number]:
            if number not in self._held:
                path = self._scratch / str(number)
                self._held[number], _ = sound_on_disk(self._clips[number], path, self._watch, cache=self._cache)
            return self._held[number]

    def close(self) -> None:
        """Let go of the files, which some systems cannot remove while they are mapped."""
        self._held.clear()


def _marks(clip: Clip, number: int, sounds: _Sounds, cache: Path | None) -> Landmarks:
    """A clip's landmarks, from the cache if they are there."""
    import numpy as np

    path = cache / "landmarks" / f"{_name(clip)}.npy" if cache else None
    if path is not None and path.is_file():
        try:
            kept = np.load(path, allow_pickle=False)
            if kept.dtype == np.uint32 and kept.ndim == 2 and kept.shape[0] == 2 and _credible(kept[0], kept[1], clip):
                return Landmarks(kept[0], kept[1].astype(np.float32))
        except (OSError, ValueError, EOFError):
            pass  # a file that a crash cut short: made anew
    made = landmarks(peaks(mapped_anew(sounds[number])))
    # A day's landmarks are in memory together: whole frames of the longest clip fit into half the bytes.
    made = Landmarks(made.hashes, np.rint(made.frames).astype(np.float32))
    if path is not None:
        with contextlib.suppress(CannotWrite):  # they are in hand; the next run makes them again
            write_bytes(path, _packed(made))
    return made


def _credible(hashes: npt.NDArray[np.uint32], frames: npt.NDArray[np.uint32], clip: Clip) -> bool:
    """Whether there are such hashes, and the frames are the clip's, in order."""
    in_order = bool((frames[1:] >= frames[:-1]).all())
    last = (clip.duration + 2 * WINDOW_S) * FRAMES_A_SECOND
    return in_order and bool((hashes < HASHES).all()) and (not len(frames) or float(frames[-1]) <= last)


def _packed(made: Landmarks) -> bytes:
    import io

    import numpy as np

    out = io.BytesIO()
    np.save(out, np.stack([made.hashes, made.frames.astype(np.uint32)]))
    return out.getvalue()


def _name(clip: Clip) -> str:
    return hashlib.sha256(f"{METHOD}\0{sample_key(clip.path)}".encode()).hexdigest()[:32]


def _candidates(two: int, clips: Sequence[Clip], marks: Sequence[Landmarks]) -> list[_Candidate]:
    """The likeliest shift of clip ``two`` against each clip of another camera before it, where there is one."""
    others = [one for one in range(two) if clips[one].camera != clips[two].camera]
    if not others or not len(marks[two].hashes):
        return []
    sought = _by_hash(marks[two])
    return [best for one in others for best in _pair(one, two, marks[one], sought)[:1]]


@dataclass(frozen=True)
class _ByHash:
    """A clip's landmarks: those of hash ``h`` are ``frames[starts[h]:starts[h] + counts[h]]``."""

    starts: npt.NDArray[np.int32]
    counts: npt.NDArray[np.int32]
    frames: npt.NDArray[np.int32]
    latest: int


def _by_hash(marks: Landmarks) -> _ByHash:
    import numpy as np

    counts = np.bincount(marks.hashes, minlength=HASHES).astype(np.int32)
    starts = (np.cumsum(counts) - counts).astype(np.int32)
    counts[counts > _crowded(len(marks.hashes))] = 0  # hum and fixed tones say nothing
    frames = marks.frames[np.argsort(marks.hashes, kind="stable")].astype(np.int32)
    return _ByHash(starts, counts, frames, int(frames.max(initial=0)))


def _pair(one: int, two: int, a: Landmarks, b: _ByHash) -> list[_Candidate]:
    """Shifts (seconds of the other less seconds of the first) that windows of ``a`` voted for."""
    import numpy as np

    if not len(a.hashes):
        return []
    # Windows vote each for themselves: taken some at a time, hours of sound need no more memory than minutes.
    windows = (a.frames / (WINDOW_S * FRAMES_A_SECOND)).astype(np.int64)
    edges = np.searchsorted(windows, np.arange(0, int(windows[-1]) + 1 + _AT_ONCE, _AT_ONCE))
    voted = [_votes(a, slice(*edges[k : k + 2]), windows, b) for k in range(len(edges) - 1)]
    winners = np.concatenate([shifts for shifts, _ in voted])
    votes = np.concatenate([counts for _, counts in voted])
    if not len(winners):
        return []
    # Windows far apart drift by some frames over hours: their votes are gathered within half a second.
    _, near = np.unique(np.rint(winners / (0.5 * FRAMES_A_SECOND)), return_inverse=True)
    gathered = np.bincount(near, weights=votes)
    found = []
    for best in np.argsort(-gathered, kind="stable")[:3]:
        middle = np.average(winners[near == best], weights=votes[near == best])
        found.append(_Candidate(one, two, float(middle) / FRAMES_A_SECOND, int(gathered[best])))
    return found


def _votes(
    a: Landmarks, part: slice, windows: npt.NDArray[np.int64], b: _ByHash
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Shifts in frames that have enough votes in one window of ``part``, neighbouring frames' added, and the votes."""
    import numpy as np

    many = b.counts[a.hashes[part]]
    total = int(many.sum())
    if total == 0:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    frames, inside = a.frames[part].astype(np.int64), windows[part] - windows[part.start]
    # One number tells window and shift; between the windows' numbers two are free.
    least = int(frames[-1])
    wide = least + b.latest + 3
    base = inside * wide + (least - frames)
    fits = np.int32 if (int(inside[-1]) + 1) * wide < 2**31 else np.int64  # half as wide is sorted in half the time
    begins = b.starts[a.hashes[part]] - (np.cumsum(many) - many)
    key = b.frames[np.arange(total) + np.repeat(begins, many)] + np.repeat(base.astype(fits), many)
    key.sort()
    firsts = np.concatenate([[0], np.flatnonzero(key[1:] != key[:-1]) + 1])
    values, counts = key[firsts].astype(np.int64), np.diff(firsts, append=total)
    beside = np.where(np.diff(values) == 1, 1, 0)
    votes = counts.copy()
    votes[:-1] += counts[1:] * beside
    votes[1:] += counts[:-1] * beside
    strong = votes >= FEWEST_VOTES
    return values[strong] % wide - least, votes[strong]


def _crowded(count: int) -> int:
    return max(24, count // 40_000)


@dataclass(frozen=True)
class _Measured:
    shift: float
    drift: float
    error: float
    overlap: float
    likeness: float


def _measured(candidate: _Candidate, clips: Sequence[Clip], sounds: _Sounds) -> tuple[Tie | None, Problem | None]:
    # Pages that were read leave memory with their mapping: a day's are not in it together.
    one, two = (replace(s, samples=mapped_anew(s)) for s in (sounds[candidate.clip], sounds[candidate.other]))
    measured = _line(one, two, candidate.shift)
    if measured is None:
        return None, None
    if measured.likeness > SAME_FILE_LIKENESS and abs(one.duration - two.duration) < 0.1 and abs(measured.shift) < 1e-3:
        return None, Problem(
            where=clips[candidate.other].name,
            what=f"has the very same sound as {clips[candidate.clip].name}: a copy, which tells nothing of the clocks",
            remedy="Take one of them out of footage/, or set both to one camera in episode.toml.",
        )
    return _tie(one.name, two.name, measured), None


def _tie(clip: str, other: str, measured: _Measured) -> Tie:
    return Tie(
        clip=clip,
        other=other,
        shift_s=round(measured.shift, 4),
        drift_ppm=round(measured.drift * 1e6, 2),
        error_s=round(measured.error, 4),
        overlap_s=round(measured.overlap, 2),
    )


def _line(one: Sound, two: Sound, shift: float) -> _Measured | None:
    """Measure many instants near ``shift`` and lay a line through those that agree.

    The shift is told at second 0 of the first sound; its error holds in the middle of what both share.
    """
    import numpy as np

    begin, end = max(0.0, -shift), min(one.duration, two.duration - shift)
    if end - begin < LEAST_OVERLAP_S:
        return None
    count = int(min(MOST_INSTANTS, (end - begin - 1.0) / SEVERAL_S))
    centres = np.linspace(begin + 0.5, end - 0.5, max(count, 8))
    span = end - begin
    reach = min(1.2, REACH_S + (0.3 if span > 600 else 0.0) + MOST_DRIFT_PPM / 2 * 1e-6 * span)
    track = Track(clip=0, begin=begin, end=end, offset=shift, speed=1.0, pitch=1.0, votes=0)
    # Most of what landmarks propose shares nothing: a look at a few instants tells, and spares the many.
    for few, too_little in FIRST_LOOKS:
        some = centres[:: max(1, len(centres) // few)]
        if len(some) == len(centres):
            break
        _, alike = lags(track, one, two, some, reach=reach)
        if _share(alike > LEAST_LIKENESS, _level(one, some)) < too_little:
            return None
    late, alike = lags(track, one, two, centres, reach=reach)
    loud = _loud(one, centres) & (alike > LEAST_LIKENESS)
    if int(loud.sum()) < 12:
        return None
    at, lag, weight = centres[loud] - (begin + end) / 2, late[loud], alike[loud]
    fit = _robust(at, lag, weight, end - begin)
    if fit is None:
        return None
    middle, slope, error, agreed = fit
    if agreed < 10 or abs(slope) > MOST_DRIFT_PPM * 1e-6:
        return None
    off = np.abs(late - middle - slope * (centres - (begin + end) / 2))
    fits = (alike > LEAST_LIKENESS) & (off < 0.006)
    if min(_share(fits, _level(one, centres)), _share(fits, _level(two, centres + shift + middle))) < LEAST_SHARE:
        return None
    at_zero = shift + middle - slope * (begin + end) / 2
    return _Measured(at_zero, slope, error, end - begin, float(np.median(weight)))


def _loud(sound: Sound, centres: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
    """Whether something is to be heard around each instant."""
    import numpy as np

    half = round(0.2 * RATE)
    level = np.array(
        [
            float(np.abs(stretch_of(sound.samples, round(c * RATE) - half, round(c * RATE) + half)).max())
            for c in centres
        ]
    )
    return np.asarray(level > 1e-3)


def _level(sound: Sound, centres: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """How loud it is around each instant, with wind and hum held down (first differences)."""
    import numpy as np

    half = round(0.2 * RATE)
    firsts = [round(c * RATE) - half for c in centres]
    return np.array([float(np.abs(np.diff(stretch_of(sound.samples, f, f + 2 * half))).mean()) for f in firsts])


def _share(fits: npt.NDArray[np.bool_], level: npt.NDArray[np.float64]) -> float:
    """The share of the loudest third of instants that fit."""
    import numpy as np

    loudest = np.argsort(-level, kind="stable")[: max(8, len(level) // 3)]
    return float(fits[loudest].mean())


def _robust(
    at: npt.NDArray[np.float64], lag: npt.NDArray[np.float64], weight: npt.NDArray[np.float64], span: float
) -> tuple[float, float, float, int] | None:
    """A line through the densest band of lags: value at 0, slope, half of a 95 % interval, how many agree.

    The band is looked for over a grid of drifts, since over hours the lags of one shift run far apart; what lies
    within 4 ms of it is fitted by least squares with Tukey's weights (Beaton and Tukey 1974; from memory).
    """
    import numpy as np

    finest = 0.002 / max(span, 1.0)
    most = MOST_DRIFT_PPM * 1e-6 if span > 60 else 0.0
    slopes = np.arange(-most, most + finest / 2, finest) if most else np.zeros(1)
    if len(slopes) > 2401:
        slopes = np.linspace(-most, most, 2401)
    best = (0.0, 0.0, 0.0)
    for slope in slopes:
        off = lag - slope * at
        order = np.argsort(off, kind="stable")
        held = np.concatenate([[0.0], np.cumsum(weight[order])])
        upper = np.searchsorted(off[order], off[order] + 0.006, side="right")
        inside = held[upper] - held[:-1]
        k = int(np.argmax(inside))
        if inside[k] > best[0]:
            best = (float(inside[k]), float(slope), float(off[order][k]) + 0.003)
    _, slope, middle = best
    fitted: npt.NDArray[np.float64] = np.array([middle, slope])
    use_slope = span > 60
    for _ in range(20):
        off = lag - fitted[0] - fitted[1] * at
        near = np.abs(off) < 0.012
        if int(near.sum()) < 6:
            return None
        spread = max(float(np.median(np.abs(off[near]))) / 0.6745, 2e-4)
        u = np.clip(off / (4.685 * spread), -1, 1)
        w = weight * (1 - u**2) ** 2
        design = np.stack([np.ones_like(at), at], axis=1) if use_slope else np.ones((len(at), 1))
        normal = design.T @ (design * w[:, None]) + 1e-15 * np.eye(design.shape[1])
        solved = np.linalg.solve(normal, design.T @ (w * lag))
        moved = np.array([solved[0], solved[1] if use_slope else 0.0])
        done = bool(np.allclose(moved, fitted, atol=1e-7))
        fitted = moved
        if done:
            break
    off = lag - fitted[0] - fitted[1] * at
    agreed = int((np.abs(off) < 4.685 * spread).sum())
    # Neighbouring instants share half of their sound and all of the room's echo: count one in four as new.
    told = 1.96 * spread / max(1.0, agreed / 4) ** 0.5
    return float(fitted[0]), float(fitted[1]), float((told**2 + DISTANCE_S**2) ** 0.5), agreed
