"""Running FFmpeg to its end, or until nobody wants what it makes any more."""

from __future__ import annotations

import errno
import os
import subprocess
import time
from collections.abc import Callable, Sequence
from typing import NamedTuple

from episode.footage.complaints import complaints

LOOK_EVERY_S = 0.25


class Ran(NamedTuple):
    """How a process ended and the last line that it complained with."""

    status: int
    complaint: str


def run(command: Sequence[str], *, seconds: float, wanted: Callable[[], None] = lambda: None) -> Ran:
    """Run ``command``; ``wanted`` is asked now and then, and what it raises ends the process.

    Raises:
        subprocess.TimeoutExpired: it took longer than ``seconds`` and was ended.
        OSError: the disk it wrote to is full or may not be written.
    """
    until = time.monotonic() + seconds
    with subprocess.Popen(  # noqa: S603 - our own arguments, no shell
        command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    ) as process:
        try:
            while True:
                wanted()
                try:
                    _, said = process.communicate(timeout=LOOK_EVERY_S)
                    break
                except subprocess.TimeoutExpired:
                    if time.monotonic() > until:
                        raise
        except BaseException:
            process.kill()
            raise
    if process.returncode and (reason := _refused(said)):
        raise OSError(reason, os.strerror(reason))
    return Ran(process.returncode, complaints(said))


def _refused(complaints: bytes) -> int:
    """What the disk said, where FFmpeg could not write; 0 where it was something else."""
    return next((n for n in (errno.ENOSPC, errno.EDQUOT, errno.EROFS) if os.strerror(n).encode() in complaints), 0)
