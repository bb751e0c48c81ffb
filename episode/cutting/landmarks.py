"""Landmarks: pairs of spectral peaks, which survive coding, equalising and music.

After A. Wang, "An industrial-strength audio search algorithm", ISMIR 2003: pairs of peaks, each a first
frequency, a difference of frequencies and a difference of times. Sizes are this project's own measurements.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from episode.cutting.samples import RATE, stretch_of

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

WINDOW = 512
HOP = 128
FRAMES_A_SECOND = RATE / HOP
LOWEST_BIN, HIGHEST_BIN = 8, 218
"""125 to 3400 Hz in bins of 15.6 Hz."""
PEAKS_A_SECOND = 40
FAN_OUT = 8
FARTHEST_BINS = 63
NEAREST_FRAMES, FARTHEST_FRAMES = 2, 63
HASHES = (HIGHEST_BIN - LOWEST_BIN) << 13
"""Hashes are below this."""

_BLOCK_S, _MARGIN_S = 16, 2
"""What is worked out of so little stays near the processor; the margin is what the running mean reaches."""


class Peaks(NamedTuple):
    """Spectral peaks in order of time: frame numbers (may be fractions) and bins."""

    frames: npt.NDArray[np.float64]
    bins: npt.NDArray[np.int64]


class Landmarks(NamedTuple):
    """Parallel arrays in order of time: the hash of each pair and the frame of its first peak."""

    hashes: npt.NDArray[np.uint32]
    frames: npt.NDArray[np.floating]


def peaks(samples: npt.NDArray[np.int16]) -> Peaks:
    """The strongest local maxima of a log spectrogram from which each band's running mean was taken."""
    import numpy as np

    found_frames, found_bins = [], []
    block, margin = _BLOCK_S * RATE, _MARGIN_S * RATE  # both whole numbers of hops
    for begin in range(0, max(1, len(samples)), block):
        stretch = stretch_of(samples, begin - margin, min(begin + block, len(samples)) + margin)
        frames, bins = _local_maxima(stretch)
        absolute = frames + (begin - margin) // HOP
        inside = (absolute >= begin // HOP) & (absolute < (begin + block) // HOP) & (absolute * HOP < len(samples))
        found_frames.append(absolute[inside])
        found_bins.append(bins[inside])
    frames, bins = np.concatenate(found_frames), np.concatenate(found_bins)
    return Peaks(frames.astype(np.float64), bins.astype(np.int64))


def landmarks(of: Peaks, scale: float = 1.0) -> Landmarks:
    """Pair up peaks; ``scale`` multiplies all times first, which undoes a change of speed that kept the pitch."""
    import numpy as np

    frames, bins = of.frames * scale, of.bins
    count = len(frames)
    partners = np.zeros(count, dtype=np.int64)
    hashes, times = [], []
    for ahead in range(1, 4 * PEAKS_A_SECOND // 3):
        if ahead >= count:
            break
        apart = np.rint(frames[ahead:] - frames[:-ahead]).astype(np.int64)
        rise = bins[ahead:] - bins[:-ahead]
        fits = (apart >= NEAREST_FRAMES) & (apart <= FARTHEST_FRAMES) & (np.abs(rise) <= FARTHEST_BINS)
        fits &= partners[:-ahead] < FAN_OUT
        first = np.flatnonzero(fits)
        partners[first] += 1
        low = bins[first] - LOWEST_BIN
        hashes.append(((low << 13) | ((rise[first] + FARTHEST_BINS) << 6) | apart[first]).astype(np.uint32))
        times.append(frames[first])
    if not hashes:
        return Landmarks(np.zeros(0, np.uint32), np.zeros(0))
    hashed, timed = np.concatenate(hashes), np.concatenate(times)
    order = np.argsort(timed, kind="stable")
    return Landmarks(hashed[order], timed[order])


def _local_maxima(stretch: npt.NDArray[np.float32]) -> tuple[Any, Any]:
    import numpy as np
    from scipy.fft import rfft
    from scipy.ndimage import uniform_filter1d

    windows = np.lib.stride_tricks.sliding_window_view(stretch, WINDOW)[::HOP]
    shape = np.hanning(WINDOW).astype(np.float32)
    spectrum = rfft(windows * shape, axis=1)[:, :HIGHEST_BIN]
    level = np.log(np.sqrt(spectrum.real**2 + spectrum.imag**2) + np.float32(1e-4))
    level -= uniform_filter1d(level, size=round(3 * FRAMES_A_SECOND), axis=0, mode="nearest")
    highest = (level == _highest(_highest(level, 4, 0), 5, 1)) & (level > 0.5)
    highest[:, :LOWEST_BIN] = False
    frames, bins = np.divmod(np.flatnonzero(highest), HIGHEST_BIN)
    heights = level[frames, bins]
    # The strongest of each second, so that loud and quiet passages have as many.
    second = (frames / FRAMES_A_SECOND).astype(np.int64)
    order = np.lexsort((-heights, second))
    starts = np.searchsorted(second[order], second[order], side="left")
    kept = np.sort(order[np.arange(len(order)) - starts < PEAKS_A_SECOND])
    return frames[kept], bins[kept]


def _highest(level: npt.NDArray[np.float32], reach: int, axis: int) -> npt.NDArray[np.float32]:
    """The highest of each place and ``reach`` before and after it: a window is the higher of two that overlap."""
    import numpy as np

    edge = [(0, 0), (0, 0)]
    edge[axis] = (reach, reach)
    held = np.moveaxis(np.pad(level, edge, constant_values=-np.inf), axis, 0)
    width, wanted = 1, 2 * reach + 1
    while width < wanted:
        step = min(width, wanted - width)
        held = np.maximum(held[:-step], held[step:])
        width += step
    return np.asarray(np.moveaxis(held, 0, axis))
