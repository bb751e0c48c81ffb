"""How alike cut and clip sound at a place: band-limited, partly whitened cross-correlation.

C. H. Knapp and G. C. Carter, "The generalized correlation method for estimation of time delay", 1976, with only
part of the magnitude taken out, which keeps quiet bands from outweighing speech.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from episode.cutting.samples import RATE, Sound, stretch_of

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from episode.cutting.tracks import Track

LOWEST_HZ, HIGHEST_HZ = 200, 3400
WHITENING = 0.7
_BATCH = 256


def lags(
    track: Track, cut: Sound, clip: Sound, centres: npt.NDArray[np.float64], *, reach: float
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Seconds by which the clip's sound is later than the track says, and the likeness there (-1 to 1).

    Looked for within ``reach`` seconds, in 0.4 s of sound around each of ``centres`` (seconds on the cut).
    """
    import numpy as np

    size, most = round(0.4 * RATE), round(reach * RATE)
    length = _power_of_two(size + 2 * most)
    shift, value = [], []
    for part in _batches(centres):
        near = _frames_of_cut(cut, part, size)
        far = _frames_of_clip(track, clip, part, size)
        peaks, heights = _peak(near, far, length, most)
        shift.append(peaks / RATE * track.pitch)
        value.append(heights)
    return np.concatenate(shift), np.concatenate(value)


def likeness(track: Track, cut: Sound, clip: Sound, centres: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Likeness on the track's line, in 0.24 s of sound around each of ``centres``; NaN where either is silent."""
    import numpy as np

    size = round(0.24 * RATE)
    most = round((0.03 if track.stretched else min(0.006, 0.001 + 2 * track.spread)) * RATE)
    length = _power_of_two(size + most)
    value = []
    for part in _batches(centres):
        near = _frames_of_cut(cut, part, size)
        far = _frames_of_clip(track, clip, part, size)
        _, heights = _peak(near, far, length, most)
        silent = (np.abs(near).max(axis=1) < 2e-4) | (np.abs(far).max(axis=1) < 2e-4)
        outside = ((track.offset + track.speed * part) < 0) | ((track.offset + track.speed * part) > clip.duration)
        heights[silent] = np.nan
        heights[outside] = -1.0
        value.append(heights)
    joined: npt.NDArray[np.float64] = np.concatenate(value)
    return joined


def clip_sound(track: Track, clip: Sound, begin: float, count: int) -> npt.NDArray[np.float32]:
    """``count`` samples of the clip as they should sound on the cut from ``begin`` seconds on."""
    import numpy as np

    if track.pitch == 1.0 and abs(track.speed - 1.0) < 1e-9:
        first = round(track.at(begin) * RATE)
        return stretch_of(clip.samples, first, first + count)
    where = track.at(begin) * RATE + np.arange(count) * track.speed
    first = int(np.floor(where[0])) - 1
    there = stretch_of(clip.samples, first, int(np.ceil(where[-1])) + 2)
    between: npt.NDArray[np.float32] = np.interp(where - first, np.arange(len(there)), there).astype(np.float32)
    return between


def _batches(centres: npt.NDArray[np.float64]) -> list[npt.NDArray[np.float64]]:
    import numpy as np

    return np.array_split(centres, max(1, -(-len(centres) // _BATCH)))


def _frames_of_cut(cut: Sound, centres: npt.NDArray[np.float64], size: int) -> npt.NDArray[np.float32]:
    import numpy as np

    firsts = np.rint(centres * RATE).astype(np.int64) - size // 2
    return _gather(cut, firsts, size)


def _frames_of_clip(track: Track, clip: Sound, centres: npt.NDArray[np.float64], size: int) -> npt.NDArray[np.float32]:
    """Frames of the clip that sound like the cut's: at its own speed, or hastened where the track is resampled."""
    import numpy as np

    # The cut's frames begin on whole samples; the clip's have to begin at the matching instant.
    centres = np.rint(centres * RATE) / RATE
    middles = (track.offset + track.speed * centres) * RATE
    if track.pitch == 1.0:
        return _gather(clip, np.rint(middles).astype(np.int64) - size // 2, size)
    wide = int(np.ceil(size * track.pitch)) + 4
    exact = middles - size // 2 * track.pitch
    firsts = np.floor(exact).astype(np.int64) - 1
    frames = _gather(clip, firsts, wide)
    inside = (exact - firsts)[:, None] + np.arange(size)[None, :] * track.pitch
    whole = inside.astype(np.int64)
    part = (inside - whole).astype(np.float32)
    rows = np.arange(len(frames))[:, None]
    blended: npt.NDArray[np.float32] = frames[rows, whole] * (1 - part) + frames[rows, whole + 1] * part
    return blended


def _gather(sound: Sound, firsts: npt.NDArray[np.int64], size: int) -> npt.NDArray[np.float32]:
    import numpy as np

    low, high = int(firsts.min()), int(firsts.max()) + size
    if high - low > 3 * size * len(firsts):  # far apart: not worth reading what lies between
        return np.stack([stretch_of(sound.samples, int(f), int(f) + size) for f in firsts])
    there = stretch_of(sound.samples, low, high)
    frames: npt.NDArray[np.float32] = there[(firsts - low)[:, None] + np.arange(size)[None, :]]
    return frames


def _peak(near: Any, far: Any, length: int, most: int) -> tuple[Any, Any]:
    """Lag in samples (parabola through the highest three) and height of the correlation's peak, row by row."""
    import numpy as np
    from scipy.fft import irfft, rfft

    size = near.shape[1]
    shape = np.hanning(size).astype(np.float32)
    a, b = _whitened(rfft(near * shape, length, axis=1)), _whitened(rfft(far * shape, length, axis=1))
    energy = np.sqrt((np.abs(a) ** 2).sum(axis=1) * (np.abs(b) ** 2).sum(axis=1)) + 1e-20
    whole = irfft(np.conj(a) * b, length, axis=1)
    around = np.concatenate([whole[:, length - most - 1 :], whole[:, : most + 2]], axis=1)
    around = around * (length / 2) / energy[:, None]
    inner = around[:, 1:-1]
    best = inner.argmax(axis=1)
    rows = np.arange(len(inner))
    height = inner[rows, best]
    left, right = around[rows, best], around[rows, best + 2]
    bend = left - 2 * height + right
    with np.errstate(divide="ignore", invalid="ignore"):
        fine = np.where(bend < 0, 0.5 * (left - right) / bend, 0.0)
    return best - most + np.clip(fine, -0.5, 0.5), height.astype(np.float64)


def _whitened(spectrum: Any) -> Any:
    import numpy as np

    width = RATE / (2 * (spectrum.shape[1] - 1))
    magnitude = np.abs(spectrum)
    weight = (magnitude + 1e-6) ** -WHITENING
    weight[:, : int(LOWEST_HZ / width)] = 0
    weight[:, int(HIGHEST_HZ / width) :] = 0
    return spectrum * weight


def _power_of_two(least: int) -> int:
    return 1 << (least - 1).bit_length()
