"""What a clip or a piece of its sound is, whatever its name: keys for caches."""

from __future__ import annotations

import functools
import hashlib
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

CHUNK = 4 << 20
SAMPLE = 64 << 10


def file_key(path: Path) -> str:
    """SHA-256 over a file's size and its first, middle and last 4 MiB (all of it up to 12 MiB), in hexadecimal.

    A day's clips are tens of gigabytes, too many to read for a key. Two different recordings cannot agree in all
    of these: the index of an MP4, at one of its ends, lists the size of every frame.

    Raises:
        OSError: the file cannot be read.
    """
    size = path.stat().st_size
    key = hashlib.sha256(f"{size}:".encode())
    with path.open("rb") as file:
        if size <= 3 * CHUNK:
            key.update(file.read())
        else:
            for at in (0, (size - CHUNK) // 2, size - CHUNK):
                file.seek(at)
                key.update(file.read(CHUNK))
    return key.hexdigest()


def sample_key(path: Path) -> str:
    """SHA-256 over a file's size and its first, middle and last 64 KiB, in hexadecimal: quick on any disk.

    Tells two recordings apart whatever their times say, but not a copy that is damaged between the samples.

    Raises:
        OSError: the file cannot be read.
    """
    state = path.stat()
    return _sampled(str(path), state.st_size, state.st_mtime_ns, state.st_ctime_ns)


@functools.lru_cache(maxsize=1024)
def _sampled(path: str, size: int, *_: int) -> str:
    key = hashlib.sha256(f"{size}:".encode())
    with Path(path).open("rb") as file:
        for at in (0, max(0, size // 2 - SAMPLE // 2), max(0, size - SAMPLE)):
            file.seek(at)
            key.update(file.read(SAMPLE))
    return key.hexdigest()


def sound_key(samples: npt.NDArray[np.float32]) -> str:
    """SHA-256 over the samples as 16-bit PCM, in hexadecimal: alike for the same sound in another container."""
    import numpy as np

    whole = np.clip(np.rint(samples * 32767.0), -32768, 32767).astype("<i2")
    return hashlib.sha256(whole.tobytes()).hexdigest()
