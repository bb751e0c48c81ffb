"""Sound at 8 kHz on disk, so that a long day's footage need not fit into memory."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from episode.errors import UnusableMedia
from episode.footage.sound import pieces
from episode.models import Clip, Problem
from episode.progress import Progress

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

RATE = 8000


@dataclass(frozen=True)
class Sound:
    """``samples`` is 16-bit mono at ``RATE``, mapped from a file or held in memory."""

    name: str
    samples: npt.NDArray[np.int16]

    @property
    def duration(self) -> float:
        """Seconds."""
        return len(self.samples) / RATE


def sound_on_disk(clip: Clip, scratch: Path, progress: Progress) -> tuple[Sound, list[Problem]]:
    """Decode ``clip`` into ``scratch``; what comes before damage is kept and the damage is a problem."""
    import numpy as np

    problems: list[Problem] = []
    with scratch.open("wb") as file:
        try:
            for piece in pieces(clip, seconds=60, rate=RATE):
                file.write(np.clip(np.rint(piece.samples * 32767.0), -32768, 32767).astype("<i2").tobytes())
                progress.advance(len(piece.samples) / RATE)
        except UnusableMedia as error:
            problems.append(Problem(where=error.where, what=error.what, remedy=error.remedy, level="error"))
    if scratch.stat().st_size == 0:
        return Sound(clip.name, np.zeros(0, dtype=np.int16)), problems
    return Sound(clip.name, np.memmap(scratch, dtype="<i2", mode="r")), problems


def mapped_anew(sound: Sound) -> npt.NDArray[np.int16]:
    """The same samples through a mapping of their own, so that pages read leave memory with it."""
    import numpy as np

    if not isinstance(sound.samples, np.memmap) or sound.samples.filename is None:
        return sound.samples
    return np.memmap(sound.samples.filename, dtype="<i2", mode="r")


def stretch_of(samples: npt.NDArray[np.int16], begin: int, end: int) -> npt.NDArray[np.float32]:
    """Samples ``begin`` to ``end`` as float32 from -1 to 1; zero outside the recording."""
    import numpy as np

    out = np.zeros(max(0, end - begin), dtype=np.float32)
    low, high = max(0, begin), min(len(samples), end)
    if high > low:
        out[low - begin : high - begin] = samples[low:high].astype(np.float32) / 32768.0
    return out
