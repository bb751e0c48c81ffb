"""What was heard already: one small file a stretch of sound, so that nothing is heard twice.

Under the cache folder::

    heard/3f/3f9c….json   {"format": "episode-heard/1", "language": "en",
                           "segments": [{"start": 1.2, "end": 2.9, "text": "A pipe stem.",
                                         "words": [{"start": 1.2, "end": 1.4, "word": "A", "probability": 0.97}, …]}]}
    clips/77/77ab….json   {"format": "episode-clip-heard/1", "complete": true, "language": "en",
                           "stretches": [{"start": 0.0, "end": 238.4, "key": "3f9c…"}, …]}

A stretch's key is made of its samples, the checksum of the weights and every option that changes what is
heard; a clip's of its file's size, time and samples of its bytes, so that an unchanged clip needs not even
be decoded. A file that is damaged, or of another format number, counts as absent.
"""

from __future__ import annotations

import contextlib
import hashlib
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeVar

from pydantic import BaseModel, ValidationError

from episode import storage
from episode.errors import CannotWrite
from episode.footage.fingerprint import sample_key
from episode.speech.recognise import HeardSegment

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Kept = TypeVar("Kept", bound=BaseModel)

_LARGEST = 32 << 20


class HeardStretch(BaseModel):
    """The words of one stretch; times from the stretch's start."""

    format: Literal["episode-heard/1"] = "episode-heard/1"
    language: str | None
    segments: tuple[HeardSegment, ...]


class Part(BaseModel):
    """Where a stretch lies in its clip, in seconds, and its key."""

    start: float
    end: float
    key: str


class HeardClip(BaseModel):
    """Which stretches a clip fell into; ``complete`` once its sound was decoded to the end."""

    format: Literal["episode-clip-heard/1"] = "episode-clip-heard/1"
    complete: bool = False
    language: str | None = None
    stretches: tuple[Part, ...] = ()


class Shelf:
    """The files of one cache folder. ``full`` tells that something could not be written, and why."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.full: str | None = None

    def stretch(self, key: str) -> HeardStretch | None:
        """What was heard in the stretch ``key``, if it was."""
        return kept(self._path("heard", key), HeardStretch)

    def clip(self, key: str) -> HeardClip | None:
        """Which stretches the clip ``key`` has."""
        return kept(self._path("clips", key), HeardClip)

    def keep_stretch(self, key: str, heard: HeardStretch) -> None:
        """Save at once, so that a stop loses only what is in hand."""
        self._keep(self._path("heard", key), heard)

    def keep_clip(self, key: str, heard: HeardClip) -> None:
        """Save at once."""
        self._keep(self._path("clips", key), heard)

    def _path(self, kind: str, key: str) -> Path:
        return self._folder / kind / key[:2] / f"{key}.json"

    def _keep(self, path: Path, value: BaseModel) -> None:
        try:
            keep(path, value)
        except CannotWrite as error:  # what was heard is still in hand: go on, and say so at the end
            self.full = self.full or str(error.what)


def stretch_key(samples: NDArray[np.float32], told: str) -> str:
    """Key of a stretch: ``told`` is all else that decides what is heard, as text."""
    import numpy as np

    digest = hashlib.sha256(np.ascontiguousarray(samples, dtype="<f4").tobytes())
    digest.update(b"\0" + told.encode())
    return digest.hexdigest()


def clip_key(path: Path, told: str) -> str:
    """Key of a clip's file: size, modification time, and its first, middle and last 64 KiB.

    Raises:
        OSError: the file cannot be read.
    """
    state = path.stat()
    told = f"{state.st_size} {state.st_mtime_ns} {sample_key(path)}\0{told}"
    return hashlib.sha256(told.encode()).hexdigest()


def keep(path: Path, value: BaseModel) -> None:
    """Write a kept value whole.

    Raises:
        CannotWrite: it could not be written.
    """
    storage.write_text(path, value.model_dump_json() + "\n")


def kept(path: Path, kind: type[Kept]) -> Kept | None:
    """A kept value, or nothing where the file is absent, damaged or of another format."""
    with contextlib.suppress(OSError, ValidationError):
        if path.stat().st_size <= _LARGEST:
            return kind.model_validate_json(path.read_bytes())
    return None
