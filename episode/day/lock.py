"""One run at a time in a day folder, which clears away what a killed one left half-written."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

from episode.errors import CannotWrite, DayLocked
from episode.scratch import sweep

FOLDERS = ("stills", "captions", "pictures", "cut", "raw")
"""Our own folders in ``out``, which itself may be any folder that the person named."""


@contextlib.contextmanager
def holding(out: Path) -> Iterator[None]:
    """Hold the day whose results go to ``out`` until the block ends, however it ends (a killed run frees it too).

    Raises:
        DayLocked: another run is at work there.
        CannotWrite: ``out`` cannot be made or written.
    """
    from filelock import FileLock, Timeout

    try:
        out.mkdir(parents=True, exist_ok=True)
        lock = FileLock(str(out / ".at-work.lock"))
        lock.acquire(timeout=0)
    except Timeout:
        raise DayLocked(
            "another run is at work on this day",
            where=str(out.parent),
            remedy="Wait for it to end, or stop it, then run this command again: finished pieces are kept.",
        ) from None
    except OSError as error:
        raise CannotWrite(
            f"results cannot be written there ({error.strerror or error})",
            where=str(out),
            remedy="Make the folder writable, or say another place with `--out FOLDER`.",
        ) from error
    try:
        sweep(out, *(out / name for name in FOLDERS))
        yield
    finally:
        lock.release()
