"""Which frame of a stretch shows its object best: the sharpest one while the camera holds still.

Sharpness is the variance of the Laplacian, a standard measure of focus (Pertuz, Puig and Garcia 2013, Analysis of
focus measure operators for shape-from-focus; from memory); stillness is how little a frame differs from those beside
it. Both are compared within the stretch only, since pebbles are sharper than a smooth sherd whatever the focus.
"""

from __future__ import annotations

import subprocess
from typing import TYPE_CHECKING

from episode.footage.commands import small_frames_command
from episode.models import Clip

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

BEFORE_S, AFTER_S = 0.5, 4.5
"""How far around the naming a frame is looked for: a thing is held up while and after it is named."""
RATE = 4.0
WIDTH, HEIGHT = 192, 108


def steadiest(clip: Clip, at: float, end: float | None = None) -> float | None:
    """The second of ``clip`` near ``at`` whose frame is sharpest and stillest; None where no frame can be decoded.

    ``end`` is the moment's end: no frame after it is proposed.
    """
    if not clip.has_video:
        return None
    begin = max(0.0, at - BEFORE_S)
    until = min(clip.duration, at + AFTER_S if end is None else max(at + 1.0, min(end, at + AFTER_S)))
    frames = _frames(clip, begin, until)
    if frames is None or not len(frames):
        return None
    best = choose(frames)
    return round(min(begin + best / RATE, max(0.0, clip.duration - 1 / RATE)), 2)


def choose(frames: npt.NDArray[np.uint8]) -> int:
    """The index of the best of ``frames`` (number, height, width; grey)."""
    import numpy as np
    from scipy.ndimage import laplace

    grey = frames.astype(np.float32)
    sharp = np.log1p(np.array([float(laplace(frame).var()) for frame in grey]))
    if len(grey) == 1:
        return 0
    steps = np.abs(np.diff(grey, axis=0)).mean(axis=(1, 2))
    moved = np.log1p(np.minimum(np.append(steps, steps[-1]), np.insert(steps, 0, steps[0])))
    score = _spread(sharp) - _spread(moved)
    return int(np.argmax(np.round(score, 6)))


def _spread(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Values by how far they stand from their mean, in standard deviations; nothing where they hardly differ."""
    import numpy as np

    wide = float(values.std())
    return (values - values.mean()) / wide if wide > 1e-3 else np.zeros_like(values)


def _frames(clip: Clip, begin: float, until: float) -> npt.NDArray[np.uint8] | None:
    import numpy as np

    if until - begin < 1 / RATE:
        return None
    try:
        ran = subprocess.run(  # noqa: S603 - our own arguments, no shell
            small_frames_command(clip.path, begin=begin, until=until, rate=RATE, width=WIDTH, height=HEIGHT),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=120,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return None
    size = WIDTH * HEIGHT
    count = len(ran.stdout) // size
    return np.frombuffer(ran.stdout[: count * size], np.uint8).reshape(count, HEIGHT, WIDTH)
