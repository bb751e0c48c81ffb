"""A clip's decoded sound, kept: hours of pictures are not read again for what was in them between.

Recognising, listening again and tying cameras all need the same sound, and a day's files are a hundred times as large
as it. Under the cache folder::

    sound/3f/3f9c….f32     samples, then {"format": "episode-sound/1", "samples": N, "blocks": [CRC-32, …]}, then the
                           length of that in four bytes and ``episode!``

Samples are as ``footage.sound.pieces`` gives them, little-endian float32, mono at 16 kHz: 230 MB an hour. A file is
there whole or not at all, each minute is checked as it is read, and what is damaged is decoded again.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import IO, TYPE_CHECKING

from episode.errors import CannotWrite
from episode.footage.fingerprint import sample_key
from episode.footage.sound import RATE, Piece, pieces
from episode.models import Clip
from episode.storage import replacing

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

PIECE_S = 60
MOST_BYTES = 8 << 30
"""Kept together, some 35 hours; what was not used for longest goes first."""
LEAST_FREE = 5 << 30
"""Bytes that the disk must have left over."""
VERSION = 1
"""Raised whenever ``pieces`` would give other samples."""
_BLOCK = PIECE_S * RATE * 4
_END = b"episode!"
_LONGEST_TOLD = 1 << 20


def sounding(clip: Clip, *, cache: Path | None, clean: bool = False) -> Iterator[Piece]:
    """All the sound of ``clip`` in pieces of a minute, as ``pieces`` gives it; decoded once, then from ``cache``.

    Kept only when it was given to its end; without ``cache``, without room and where nothing can be written,
    nothing is.

    Raises:
        UnusableMedia: as ``pieces``.
    """
    path = _place(clip, cache, clean)
    if path is None:
        yield from pieces(clip, seconds=PIECE_S, clean=clean)
        return
    index = 0
    for index, samples in enumerate(_read(path), start=1):
        if samples is None:
            return
        yield Piece(index - 1, (index - 1) * float(PIECE_S), samples)
    if index:  # damaged from here on
        with contextlib.suppress(OSError):
            path.unlink()
        rest = pieces(clip, seconds=PIECE_S, clean=clean, begin=index * float(PIECE_S))
        yield from (Piece(index + piece.index, piece.start, piece.samples) for piece in rest)
        return
    yield from _decoded(clip, path, clean)


def _place(clip: Clip, cache: Path | None, clean: bool) -> Path | None:
    if cache is None:
        return None
    try:
        state = clip.path.stat()
        told = f"{VERSION} {state.st_size} {state.st_mtime_ns} {state.st_ctime_ns} {sample_key(clip.path)} {clean}"
    except OSError:
        return None  # ``pieces`` says what is wrong
    key = hashlib.sha256(told.encode()).hexdigest()
    return cache / "sound" / key[:2] / f"{key}.f32"


def _read(path: Path) -> Iterator[npt.NDArray[np.float32] | None]:
    """What is kept, minute by minute, and ``None`` after the last; it just ends where a minute is damaged or absent."""
    import numpy as np

    try:
        with path.open("rb") as file:
            blocks, left = _index(file)
            with contextlib.suppress(OSError):
                os.utime(path)
            for expected in blocks:
                data = file.read(min(_BLOCK, left))
                left -= len(data)
                if zlib.crc32(data) != expected:
                    return
                yield np.frombuffer(data, dtype="<f4").astype(np.float32, copy=True)
            yield None
    except (OSError, ValueError):
        return


def _index(file: IO[bytes]) -> tuple[list[int], int]:
    """The minutes' checksums and the samples' bytes.

    Raises:
        ValueError: the file is not whole.
    """
    size = file.seek(0, os.SEEK_END)
    file.seek(max(0, size - 12))
    end = file.read(12)
    length = int.from_bytes(end[:4], "little")
    if end[4:] != _END or not 0 < length <= min(_LONGEST_TOLD, size - 12):
        raise ValueError("cut short")
    file.seek(size - 12 - length)
    told = json.loads(file.read(length))
    left = size - 12 - length
    if not isinstance(told, dict) or told.get("format") != "episode-sound/1" or told.get("samples") != left / 4:
        raise ValueError("of another format")
    blocks = told.get("blocks")
    if not isinstance(blocks, list) or len(blocks) != -(-left // _BLOCK):
        raise ValueError("of another format")
    file.seek(0)
    return blocks, left


def _decoded(clip: Clip, path: Path, clean: bool) -> Iterator[Piece]:
    """Decode, and keep what was decoded once it is whole."""
    keeper = _Keeper(path, round(clip.duration * RATE * 4))
    try:
        for piece in pieces(clip, seconds=PIECE_S, clean=clean):
            keeper.add(piece.samples)
            yield piece
        keeper.finish()
    finally:
        keeper.drop()


class _Unwanted(Exception):
    """What was written so far is to go."""


class _Keeper:
    """Writes a file beside the decoding; whatever goes wrong with it costs nothing but the file."""

    def __init__(self, path: Path, expected: int) -> None:
        self._blocks: list[int] = []
        self._samples = 0
        self._most = expected + expected // 10 + _BLOCK
        self._stack = contextlib.ExitStack()
        self._file: IO[bytes] | None = None
        with contextlib.suppress(CannotWrite, OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            if _make_room(path.parent.parent, expected):
                self._file = self._stack.enter_context(self._stack.enter_context(replacing(path)).open("wb"))

    def add(self, samples: npt.NDArray[np.float32]) -> None:
        if self._file is None:
            return
        if 4 * (self._samples + len(samples)) > self._most:  # than there was room for: its length was told wrong
            self.drop()
            return
        data = samples.astype("<f4", copy=False).tobytes()
        try:
            self._file.write(data)
        except OSError:
            self.drop()
        self._blocks.append(zlib.crc32(data))
        self._samples += len(samples)

    def finish(self) -> None:
        if self._file is None or not self._samples:
            return
        told = {"format": "episode-sound/1", "samples": self._samples, "blocks": self._blocks}
        end = json.dumps(told, separators=(",", ":")).encode()
        try:
            self._file.write(end + len(end).to_bytes(4, "little") + _END)
            self._file.flush()
        except OSError:
            self.drop()
            return
        self._file = None
        with contextlib.suppress(CannotWrite):
            self._stack.close()

    def drop(self) -> None:
        """Leave nothing behind, unless it is finished."""
        self._file = None
        with contextlib.suppress(CannotWrite, OSError):
            self._stack.__exit__(_Unwanted, _Unwanted(), None)


def _make_room(folder: Path, wanted: int) -> bool:
    """Whether ``wanted`` bytes may be added; older files go for it."""
    if wanted > MOST_BYTES or shutil.disk_usage(folder).free < wanted + LEAST_FREE:
        return False
    found = []
    for path in folder.glob("*/*.f32"):
        with contextlib.suppress(OSError):
            state = path.stat()
            found.append((state.st_mtime_ns, state.st_size, path))
    held = sum(size for _, size, _ in found)
    for _, size, path in sorted(found):
        if held + wanted <= MOST_BYTES:
            break
        with contextlib.suppress(OSError):
            path.unlink()
            held -= size
    return held + wanted <= MOST_BYTES
