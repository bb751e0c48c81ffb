"""Which frame of a stretch shows its object best: the sharpest one while the camera holds still.

Sharpness is the variance of the Laplacian, a standard measure of focus (Pertuz, Puig and Garcia 2013, Analysis of
focus measure operators for shape-from-focus; from memory); stillness is how little a frame differs from those beside
it. Both are compared within the stretch only, since pebbles are sharper than a smooth sherd whatever the focus.
"""

from __future__ import annotations

import math
import re
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from episode.errors import CannotWrite
from episode.footage.commands import frames_command
from episode.footage.running import run
from episode.footage.sizes import has_frames
from episode.footage.stills import whole
from episode.models import Clip
from episode.scratch import scratch

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

BEFORE_S, AFTER_S = 0.5, 4.5
"""How far around the naming a frame is looked for: a thing is held up while and after it is named."""
APART_S, PARTS = 0.24, 6
"""Frames nearer to each other than this are not compared (six frames at 25 a second), nor keyframes nearer than one of
so many parts of the stretch: of each a still may be made. At least three are left of those that are nearer."""
KEYFRAME_EVERY_S, FEWEST = 2.0, 2
"""How many keyframes are a choice. Where a camera wrote fewer, every frame has to be decoded."""
WIDTH, HEIGHT = 192, 108
LONGEST_RUN_S = 300
_NAMED = re.compile(r"(\d+)-(\d+)\.gray")


class Steadiest(NamedTuple):
    """The second of a frame, and the JPEG that ``still`` writes of it where that came along with the search."""

    at: float
    picture: bytes | None


class _Frame(NamedTuple):
    at: float
    grey: bytes
    picture: bytes | None


def steadiest(
    clip: Clip,
    asked: Sequence[tuple[float, float]],
    *,
    width: int | None = None,
    wanted: Callable[[], None] = lambda: None,
) -> list[Steadiest | None]:
    """For each naming and moment's end in ``asked`` the second near it whose frame is sharpest and stillest.

    No frame after the end is proposed, unless that is within a second; None where no frame can be decoded. Keyframes
    are compared where the camera wrote enough of them, else frames of every quarter of a second. All of ``asked`` is
    decoded by one process, which holds a decoder for each; what is found for one does not hang on the others.
    With ``width``, that of a still in pixels, the still of a keyframe comes along where it is certain to be the same.
    ``wanted`` is asked now and then while FFmpeg is at work; what it raises ends that.

    Raises:
        CannotWrite: there is no room for temporary files.
    """
    if not has_frames(clip):
        return [None] * len(asked)
    stretches = [_stretch(clip, at, end) for at, end in asked]
    found: dict[tuple[float, float], list[_Frame]] = {stretch: [] for stretch in stretches}
    for keyframes in (True, False):
        few = [stretch for stretch, frames in found.items() if len(frames) < _enough(stretch)]
        found |= _frames(clip, few, keyframes, width, wanted)
    return [_best(found[stretch]) for stretch in stretches]


def choose(frames: npt.NDArray[np.uint8]) -> int:
    """The index of the best of ``frames`` (number, height, width; grey)."""
    import numpy as np

    grey = frames.astype(np.float32)
    sharp = np.log1p(_laplacian(grey).var(axis=(1, 2)))
    if len(grey) == 1:
        return 0
    steps = np.abs(np.diff(grey, axis=0)).mean(axis=(1, 2))
    moved = np.log1p(np.minimum(np.append(steps, steps[-1]), np.insert(steps, 0, steps[0])))
    score = _spread(sharp) - _spread(moved)
    return int(np.argmax(np.round(score, 6)))


def _laplacian(grey: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """The sum of the second differences along both sides of each frame, which is mirrored at its edges."""
    import numpy as np

    wide = np.pad(grey, ((0, 0), (1, 1), (1, 1)), "symmetric")
    beside = wide[:, 1:-1, :-2] + wide[:, 1:-1, 2:]
    return wide[:, :-2, 1:-1] + wide[:, 2:, 1:-1] + beside - 4 * grey


def _stretch(clip: Clip, at: float, end: float) -> tuple[float, float]:
    """From where to where frames are looked for.

    In whole tenths, which the time bases of containers hold exactly: FFmpeg counts times from the begin in theirs.
    """
    begin = max(0.0, at - BEFORE_S)
    until = min(clip.duration, max(at + 1.0, min(end, at + AFTER_S)))
    return math.floor(begin * 10) / 10, math.floor(until * 10) / 10


def _enough(stretch: tuple[float, float]) -> int:
    length = stretch[1] - stretch[0]
    return max(FEWEST, math.ceil(length / KEYFRAME_EVERY_S)) if length > 0 else 0


def _best(frames: Sequence[_Frame]) -> Steadiest | None:
    import numpy as np

    if not frames:
        return None
    grey = np.frombuffer(b"".join(frame.grey for frame in frames), np.uint8)
    best = frames[choose(grey.reshape(len(frames), HEIGHT, WIDTH))]
    return Steadiest(best.at, best.picture)


def _spread(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Values by how far they stand from their mean, in standard deviations; nothing where they hardly differ."""
    import numpy as np

    wide = float(values.std())
    return (values - values.mean()) / wide if wide > 1e-3 else np.zeros_like(values)


def _frames(
    clip: Clip, stretches: Sequence[tuple[float, float]], keyframes: bool, width: int | None, wanted: Callable[[], None]
) -> dict[tuple[float, float], list[_Frame]]:
    """The frames of each stretch, of all together if FFmpeg goes through them well, else of each by itself."""
    if not stretches:
        return {}
    decoded, well = _decoded(clip, stretches, keyframes, width, wanted)
    if not well and len(stretches) > 1:
        decoded = [_decoded(clip, [stretch], keyframes, width, wanted)[0][0] for stretch in stretches]
    return dict(zip(stretches, decoded, strict=True))


def _decoded(
    clip: Clip, stretches: Sequence[tuple[float, float]], keyframes: bool, width: int | None, wanted: Callable[[], None]
) -> tuple[list[list[_Frame]], bool]:
    """The frames of each stretch, and whether FFmpeg ended well."""
    try:
        with scratch() as folder:
            spaced = [(begin, until, _apart(until - begin, keyframes)) for begin, until in stretches]
            command = frames_command(
                clip.path, spaced, folder, keyframes=keyframes, grey=(WIDTH, HEIGHT), still_width=width
            )
            try:
                ran = run(command, seconds=LONGEST_RUN_S, wanted=wanted)
            except subprocess.TimeoutExpired:
                return [[] for _ in stretches], False
            # What is missing in a damaged frame is made up from those before it, which are others for a still.
            return _read(folder, stretches, pictures=not ran.complaint), ran.status == 0
    except OSError as error:
        raise CannotWrite(
            f"temporary files could not be written ({error.strerror or error})",
            where=tempfile.gettempdir(),
            remedy="Free some space there, then run the same command again.",
        ) from error


def _apart(length: float, keyframes: bool) -> float:
    return max(APART_S, length / PARTS) if keyframes else APART_S


def _read(folder: Path, stretches: Sequence[tuple[float, float]], *, pictures: bool) -> list[list[_Frame]]:
    found: list[list[_Frame]] = [[] for _ in stretches]
    for path in folder.iterdir():
        if named := _NAMED.fullmatch(path.name):
            number, after = int(named[1]), int(named[2])
            grey = path.read_bytes()
            if len(grey) == WIDTH * HEIGHT:
                at, taken = round(stretches[number][0] + after / 1e6, 6), path.with_suffix(".jpg")
                picture = taken.read_bytes() if pictures and taken.exists() else b""
                found[number].append(_Frame(at, grey, picture if whole(picture) else None))
    return [sorted(frames, key=lambda frame: frame.at) for frames in found]
