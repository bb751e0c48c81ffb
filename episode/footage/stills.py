"""Stills: actual frames of a clip."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Sequence
from pathlib import Path

from episode.errors import UnusableMedia
from episode.footage.commands import still_command, stills_command
from episode.footage.running import run
from episode.footage.sizes import has_frames
from episode.models import Clip
from episode.scratch import scratch
from episode.storage import replacing, write_bytes

BACK_S = (1.0, 5.0, 30.0)
"""How far before the end the last frame is looked for: a picture may end before its sound."""
LONGEST_RUN_S = 300


def still(clip: Clip, at: float, target: Path, *, width: int = 640, wanted: Callable[[], None] = lambda: None) -> bool:
    """Write the frame shown at ``at`` seconds, or the first after it, to ``target`` as JPEG, upright, without metadata.

    At or past the end it is the last frame. ``width`` is in pixels; smaller pictures are not enlarged. Returns
    ``False``, and writes nothing, for a clip without picture or with too large a one. ``wanted`` is asked now and
    then while FFmpeg is at work; what it raises ends that.

    Raises:
        UnusableMedia: no frame can be decoded there.
        CannotWrite: ``target`` could not be written; an older still is as it was.
    """
    if not has_frames(clip):
        return False
    at = max(0.0, at)
    tries = [(at, False)] if at < clip.duration else []
    tries += [(max(0.0, min(at, clip.duration) - back), True) for back in BACK_S]
    complaint = ""
    # FFmpeg writes beside the target under a name ending in .jpg, whatever the target's name is.
    with replacing(target) as temporary:
        for moment, last in tries:
            complaint = _grab(still_command(clip.path, temporary, at=moment, width=width, last=last), wanted)
            if whole(temporary.read_bytes()):
                return True
        raise UnusableMedia(
            f"no picture could be decoded{f' ({complaint})' if complaint else ''}",
            where=f"{clip.name} at {int(at) // 60}:{int(at) % 60:02d}",
            remedy="Copy the clip again from the card.",
        )


def stills(
    clip: Clip,
    asked: Sequence[tuple[float, Path]],
    *,
    width: int = 640,
    wanted: Callable[[], None] = lambda: None,
) -> list[UnusableMedia | None]:
    """Write to each path the same bytes as ``still`` does, in less time; in place of its error, if any, it is given.

    All are decoded by one process, which holds a decoder for each.

    Raises:
        CannotWrite: as ``still``; those written before it are whole.
    """
    taken = _together(clip, asked, width, wanted)
    failed: list[UnusableMedia | None] = []
    for (at, target), picture in zip(asked, taken, strict=True):
        failed.append(None)
        if picture:
            write_bytes(target, picture)
            continue
        try:
            still(clip, at, target, width=width, wanted=wanted)
        except UnusableMedia as error:
            failed[-1] = error
    return failed


def whole(picture: bytes) -> bool:
    """Whether a JPEG was written to its end (the marker EOI of ITU-T T.81, B.1.1.3)."""
    return picture.endswith(b"\xff\xd9")


def _together(
    clip: Clip, asked: Sequence[tuple[float, Path]], width: int, wanted: Callable[[], None]
) -> list[bytes | None]:
    """The pictures of ``asked``, None where this way gives none, whatever the reason: each can be asked for alone."""
    if not asked or not has_frames(clip) or not all(0 <= at < clip.duration for at, _ in asked):
        return [None] * len(asked)
    try:
        with scratch() as folder:
            paths = [folder / f"{number}.jpg" for number in range(len(asked))]
            command = stills_command(
                clip.path, [(at, path) for (at, _), path in zip(asked, paths, strict=True)], width=width
            )
            run(command, seconds=LONGEST_RUN_S, wanted=wanted)
            pictures = [path.read_bytes() if path.exists() else b"" for path in paths]
    except (OSError, subprocess.TimeoutExpired):
        return [None] * len(asked)
    return [picture if whole(picture) else None for picture in pictures]


def _grab(command: Sequence[str], wanted: Callable[[], None]) -> str:
    try:
        return run(command, seconds=LONGEST_RUN_S, wanted=wanted).complaint
    except subprocess.TimeoutExpired:
        return "FFmpeg did not answer within five minutes"
