"""Temporary files and folders that do not outlive the run that made them, even where it was killed.

Who makes one holds a lock on it (``flock``), which the system lets go of however the run ends. What is found
without a holder was left by a run that was killed, and is removed by the next. Where there is no such lock
nothing is removed.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

PART = ".part-episode-"
"""How the names of half-written files begin."""
_FOLDER = "episode-scratch-"
_HELD = ".held"


@contextlib.contextmanager
def scratch() -> Iterator[Path]:
    """A folder for temporary files of this run, removed with all in it when the block ends.

    Raises:
        OSError: there is no room for it.
    """
    with contextlib.suppress(OSError):
        _sweep_folders(Path(tempfile.gettempdir()))
    with tempfile.TemporaryDirectory(prefix=_FOLDER, ignore_cleanup_errors=True) as name, _holding(Path(name)):
        yield Path(name)


@contextlib.contextmanager
def held(handle: int) -> Iterator[None]:
    """Say that the half-written file open as ``handle`` is being worked on, until the block ends."""
    if fcntl is not None:
        with contextlib.suppress(OSError):
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    yield


def sweep(flat: Path, *deep: Path) -> None:
    """Remove half-written files that killed runs left in ``flat``, and in the folders ``deep`` and below them."""
    if fcntl is None:
        return
    with contextlib.suppress(OSError):
        for path in (*flat.glob(f"{PART}*"), *(path for folder in deep for path in folder.rglob(f"{PART}*"))):
            with contextlib.suppress(OSError):
                if _nobodys(path):
                    path.unlink()


@contextlib.contextmanager
def _holding(folder: Path) -> Iterator[None]:
    if fcntl is None:
        yield
        return
    handle = os.open(folder / ".new", os.O_CREAT | os.O_RDWR | os.O_CLOEXEC, 0o600)
    try:
        with contextlib.suppress(OSError):
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            (folder / ".new").replace(folder / _HELD)
        yield
    finally:
        os.close(handle)


def _sweep_folders(place: Path) -> None:
    if fcntl is None:
        return
    for folder in place.glob(f"{_FOLDER}*"):
        with contextlib.suppress(OSError):
            told = folder.lstat()
            if told.st_uid == os.getuid() and not folder.is_symlink() and _nobodys(folder / _HELD):
                shutil.rmtree(folder, ignore_errors=True)


def _nobodys(path: Path) -> bool:
    """Whether nobody holds ``path``; False where that cannot be told."""
    handle = os.open(path, os.O_RDWR | os.O_CLOEXEC | os.O_NOFOLLOW)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    else:
        return True
    finally:
        os.close(handle)
