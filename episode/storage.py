"""Writing results whole or not at all.

A result is written to a temporary file in the same folder, flushed to the disk, and renamed over the old
one; the folder is flushed too, so that after a power cut either the old or the new file is there. What a killed
run leaves half-written is told by its name and removed by the next (``episode/scratch.py``).
"""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from episode.errors import CannotWrite
from episode.scratch import PART, held


def write_bytes(target: Path, data: bytes) -> None:
    """Write ``data`` to ``target`` atomically.

    Raises:
        CannotWrite: the disk is full, the folder read-only, and so on; ``target`` is as it was.
    """
    with replacing(target) as temporary:
        temporary.write_bytes(data)


def write_text(target: Path, text: str) -> None:
    """Write ``text`` as UTF-8 with line feeds, atomically (see ``write_bytes``)."""
    write_bytes(target, text.encode("utf-8", errors="surrogateescape"))


def write_json(target: Path, value: Any) -> None:
    """Write ``value`` as indented JSON in a fixed key order, atomically (see ``write_bytes``)."""
    write_text(target, json.dumps(value, ensure_ascii=False, indent=1) + "\n")


@contextlib.contextmanager
def replacing(target: Path) -> Iterator[Path]:
    """A temporary path beside ``target`` for another program to write; renamed over it if the block succeeds.

    Raises:
        CannotWrite: as ``write_bytes``.
    """
    temporary: Path | None = None
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=PART, suffix=target.suffix, dir=target.parent)
        temporary = Path(name)
        with _open_where_it_may_be(handle):
            yield temporary
            temporary.chmod(0o644)
            _flush(temporary)
            temporary.replace(target)
        temporary = None
        _flush(target.parent)
    except OSError as error:
        reason = error.strerror or str(error)
        raise CannotWrite(
            f"could not be written ({reason}); nothing was changed",
            where=str(target),
            remedy="Free some space or make the folder writable, then run the same command again.",
        ) from error
    finally:
        if temporary is not None:
            with contextlib.suppress(OSError):
                temporary.unlink()


@contextlib.contextmanager
def _open_where_it_may_be(handle: int) -> Iterator[None]:
    """Hold the file while it is written and renamed; Windows cannot rename what is open."""
    if os.name == "nt":
        os.close(handle)
        yield
        return
    try:
        with held(handle):
            yield
    finally:
        os.close(handle)


def _flush(path: Path) -> None:
    flags = os.O_RDONLY
    if path.is_dir() and os.name == "nt":  # Windows cannot open a folder to flush it
        return
    handle = os.open(path, flags)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
