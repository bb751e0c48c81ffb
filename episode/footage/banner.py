"""What FFmpeg itself says about a file, read from its standard error."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import NamedTuple

from episode.footage.commands import banner_command

_DURATION = re.compile(r"^  Duration: (\d+):(\d\d):(\d\d(?:\.\d+)?)", re.MULTILINE)
_ROTATION = re.compile(r"display ?matrix: rotation of (-?\d+(?:\.\d+)?) degrees", re.IGNORECASE)
_STREAM = re.compile(r"^  Stream #0:\d+.*?: (Video|Audio): (.*)$", re.MULTILINE)


class Banner(NamedTuple):
    """``rotation`` is degrees counter-clockwise, as FFmpeg prints it; ``None`` where nothing was said."""

    duration: float | None
    rotation: float | None
    video: tuple[str, ...]
    audio: tuple[str, ...]


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
    return Banner(
        duration=int(clock[1]) * 3600 + int(clock[2]) * 60 + float(clock[3]) if clock else None,
        rotation=float(turned[1]) if turned else None,
        video=tuple(what for kind, what in streams if kind == "Video"),
        audio=tuple(what for kind, what in streams if kind == "Audio"),
    )
