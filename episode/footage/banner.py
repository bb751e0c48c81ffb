"""What FFmpeg itself says about a file, read from its standard error."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import NamedTuple

from episode.footage.commands import banner_command

_DURATION = re.compile(r"^  Duration: (\d+):(\d\d):(\d\d(?:\.\d+)?)", re.MULTILINE)
_ROTATION = re.compile(r"display ?matrix: rotation of (-?\d+(?:\.\d+)?) degrees", re.IGNORECASE)
_TOO_LARGE = re.compile(r"Picture size (\d{1,9})x(\d{1,9}) exceeds")
_STREAM = re.compile(r"^  Stream #0:\d+.*?: (Video|Audio): (.*)$", re.MULTILINE)


class Banner(NamedTuple):
    """``rotation`` is degrees counter-clockwise, as FFmpeg prints it; ``None`` where nothing was said.

    ``too_large`` is the size of a picture that is not decoded for it.
    """

    duration: float | None
    rotation: float | None
    video: tuple[str, ...]
    audio: tuple[str, ...]
    too_large: tuple[int, int] | None = None


def read_banner(path: Path) -> Banner:
    """Ask FFmpeg to describe ``path``. All ``None`` and empty if it cannot; never raises for a broken file."""
    try:
        ran = subprocess.run(  # noqa: S603 - our own arguments, no shell
            banner_command(path), stdin=subprocess.DEVNULL, capture_output=True, timeout=120, check=False
        )
    except (OSError, subprocess.TimeoutExpired, ValueError):
        return Banner(None, None, (), ())
    text = ran.stderr.decode("utf-8", "replace")
    streams = _STREAM.findall(text)
    clock = _DURATION.search(text)
    turned = _ROTATION.search(text)
    large = _TOO_LARGE.search(text)
    return Banner(
        duration=int(clock[1]) * 3600 + int(clock[2]) * 60 + float(clock[3]) if clock else None,
        rotation=float(turned[1]) if turned else None,
        video=tuple(what for kind, what in streams if kind == "Video"),
        audio=tuple(what for kind, what in streams if kind == "Audio"),
        too_large=(int(large[1]), int(large[2])) if large else None,
    )
