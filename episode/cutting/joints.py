"""Where exactly one piece ends and the next begins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from episode.cutting.likeness import HIGHEST_HZ, LOWEST_HZ, clip_sound
from episode.cutting.samples import RATE, Sound, stretch_of
from episode.cutting.segment import Run
from episode.cutting.tracks import Track

REACH_S = 0.45
_BAND = 9
_LISTEN_S = 0.3


def sharpen(runs: Sequence[Run], tracks: Sequence[Track], cut: Sound, clips: Sequence[Sound]) -> list[Run]:
    """Move each joint to its likeliest sample: a single change point between two linear models of the cut's sound.

    Before the joint, the cut is the first piece's sound times a gain (its equaliser is taken to be flat over the
    band) plus something; after it, the second's. The joint minimises the squares left over. Where a piece was
    stretched, its samples do not line up and the joint stays as it was.
    """
    sharp = list(runs)
    for number in range(len(sharp) - 1):
        before, after = sharp[number], sharp[number + 1]
        if any(r.track >= 0 and tracks[r.track].stretched for r in (before, after)):
            continue
        if before.track == after.track:  # one sound on both sides
            continue
        low = max(before.begin + min(0.1, (before.end - before.begin) / 2), before.end - REACH_S)
        high = min(after.end - min(0.1, (after.end - after.begin) / 2), before.end + REACH_S)
        if high - low < 0.01:
            continue
        at = _change_point(before, after, low, high, tracks, cut, clips)
        sharp[number] = replace(before, end=at)
        sharp[number + 1] = replace(after, begin=at)
    return sharp


def _change_point(
    before: Run, after: Run, low: float, high: float, tracks: Sequence[Track], cut: Sound, clips: Sequence[Sound]
) -> float:
    import numpy as np

    begin = round((low - _LISTEN_S) * RATE)
    count = round((high + _LISTEN_S) * RATE) - begin
    joint = round(before.end * RATE) - begin
    heard = _banded(stretch_of(cut.samples, begin, begin + count))
    left = _model(before, tracks, clips, begin, count)
    right = _model(after, tracks, clips, begin, count)
    inside = slice(round(low * RATE) - begin, round(high * RATE) - begin)
    gain_left = _gain(heard[: max(joint - 400, 800)], left, first=True)
    gain_right = _gain(heard[min(joint + 400, count - 800) :], right, first=False)
    cost_left = _left_over(heard, left, gain_left)
    cost_right = _left_over(heard, right, gain_right)
    # Cost of a joint at sample n: left model before n, right model from n on.
    gained = np.cumsum((cost_right - cost_left)[inside])
    return low + (int(np.argmax(gained)) + 1) / RATE


def _model(run: Run, tracks: Sequence[Track], clips: Sequence[Sound], begin: int, count: int) -> Any:
    if run.track < 0:
        return None
    track = tracks[run.track]
    return _banded(clip_sound(track, clips[track.clip], begin / RATE, count))


def _banded(samples: Any) -> Any:
    """The band in which likeness is measured, with the bass of voices evened out."""
    import numpy as np
    from scipy.fft import irfft, next_fast_len, rfft
    from scipy.ndimage import uniform_filter1d

    length = next_fast_len(len(samples) + 2048)
    spectrum = rfft(samples, length)
    width = RATE / length
    magnitude = uniform_filter1d(np.abs(spectrum), max(3, round(60 / width)))
    spectrum *= (magnitude + 1e-4) ** -0.5
    spectrum[: int(LOWEST_HZ / width)] = 0
    spectrum[int(HIGHEST_HZ / width) :] = 0
    return irfft(spectrum, length)[: len(samples)]


def _gain(heard: Any, model: Any, *, first: bool) -> float:
    if model is None:
        return 0.0
    there = model[: len(heard)] if first else model[len(model) - len(heard) :]
    energy = float((there**2).sum())
    return max(0.0, float((heard * there).sum()) / energy) if energy > 1e-9 else 0.0


def _left_over(heard: Any, model: Any, gain: float) -> Any:
    """Squares left over. For "from nowhere" a model that explains less than half of what sounds would not win."""
    if model is None:
        return 0.7 * heard**2
    return (heard - gain * model) ** 2
