"""Stills: actual frames of a clip."""

from __future__ import annotations

import errno
import os
import subprocess
from pathlib import Path

from episode.errors import UnusableMedia
from episode.footage.commands import still_command
from episode.models import Clip
from episode.storage import replacing

BACK_S = (1.0, 5.0, 30.0)
"""How far before the end the last frame is looked for: a picture may end before its sound."""


def still(clip: Clip, at: float, target: Path, *, width: int = 640) -> bool:
    """Write the frame shown at ``at`` seconds, or the first after it, to ``target`` as JPEG, upright, without metadata.

    At or past the end it is the last frame. ``width`` is in pixels; smaller pictures are not enlarged. Returns
    ``False``, and writes nothing, for a clip without picture.

    Raises:
        UnusableMedia: no frame can be decoded there.
        CannotWrite: ``target`` could not be written; an older still is as it was.
    """
    if not clip.has_video:
        return False
    at = max(0.0, at)
    tries = [(at, False)] if at < clip.duration else []
    tries += [(max(0.0, min(at, clip.duration) - back), True) for back in BACK_S]
    complaint = ""
    # FFmpeg writes beside the target under a name ending in .jpg, whatever the target's name is.
    with replacing(target) as temporary:
        for moment, last in tries:
            complaint = _grab(clip, temporary, moment, width, last=last)
            if _whole(temporary):
                return True
        raise UnusableMedia(
            f"no picture could be decoded{f' ({complaint})' if complaint else ''}",
            where=f"{clip.name} at {int(at) // 60}:{int(at) % 60:02d}",
            remedy="Copy the clip again from the card.",
        )


def _whole(picture: Path) -> bool:
    """Whether a JPEG was written to its end (the marker EOI of ITU-T T.81, B.1.1.3)."""
    return picture.read_bytes().endswith(b"\xff\xd9")


def _refused(complaints: bytes) -> int:
    """What the disk said, where FFmpeg could not write the picture; 0 where it was something else."""
    return next((n for n in (errno.ENOSPC, errno.EDQUOT, errno.EROFS) if os.strerror(n).encode() in complaints), 0)


def _grab(clip: Clip, target: Path, at: float, width: int, *, last: bool) -> str:
    try:
        ran = subprocess.run(  # noqa: S603 - our own arguments, no shell
            still_command(clip.path, target, at=at, width=width, last=last),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=300,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return "FFmpeg did not answer within five minutes"
    if ran.returncode and (reason := _refused(ran.stderr)):
        raise OSError(reason, os.strerror(reason))
    lines = ran.stderr.decode("utf-8", "replace").strip().splitlines()
    return "".join(c for c in lines[-1] if c.isprintable())[:200] if lines else ""
