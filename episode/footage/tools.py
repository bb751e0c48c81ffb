"""Which FFmpeg does the work."""

from __future__ import annotations

import functools
import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import NamedTuple

from episode.errors import UnusableInput

OLDEST = (4, 4)
"""The oldest FFmpeg that is relied on: the one of the oldest long-term Linux releases still cared for (April 2021).
Only the shipped one is tested."""

_VERSION = re.compile(r"^ffmpeg version (\S+)")
_NUMBER = re.compile(r"^n?(\d+)\.(\d+)")


class Tool(NamedTuple):
    """An external program: where it is, what it calls its version, and where it came from."""

    path: Path
    version: str
    origin: str


def ffmpeg() -> Tool:
    """The FFmpeg in use: the one on ``PATH`` if it is new enough, else the one that came with the installation.

    A person's own FFmpeg goes first because it may read formats (and use hardware) that the one in the
    Python package does not.

    Raises:
        UnusableInput: neither runs.
    """
    return _find(os.environ.get("PATH", ""))


def at_least(wanted: tuple[int, int]) -> bool:
    """Whether the FFmpeg in use has what came with the version ``wanted``, some of which has other names before."""
    return _from(ffmpeg().version, wanted)


@functools.lru_cache(maxsize=4)
def _find(search: str) -> Tool:
    refused: list[str] = []
    own = shutil.which("ffmpeg", path=search)
    # Windows looks in the working folder first: a program lying among the clips is not "on PATH".
    if own is not None and Path(own).resolve().parent != Path.cwd():
        version = _version(Path(own))
        if version is None:
            refused.append(f"{own} does not run")
        elif not _from(version, OLDEST):
            refused.append(f"{own} is version {version}, too old")
        else:
            return Tool(Path(own).absolute(), version, "on PATH")
    shipped = _shipped()
    if shipped is not None:
        version = _version(shipped)
        if version is not None:
            return Tool(shipped, version, "came with imageio-ffmpeg")
        refused.append(f"{shipped} does not run")
    raise UnusableInput(
        "no FFmpeg that runs" + (f" ({'; '.join(refused)})" if refused else ""),
        where="FFmpeg",
        remedy=f"Install FFmpeg {OLDEST[0]}.{OLDEST[1]} or newer so that `ffmpeg` is on PATH, "
        "or reinstall this program with its dependencies.",
    )


def _version(path: Path) -> str | None:
    try:
        ran = subprocess.run(  # noqa: S603 - our own arguments, no shell
            [str(path), "-hide_banner", "-version"],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=30,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
    found = _VERSION.match(ran.stdout.decode("utf-8", "replace"))
    return found[1] if ran.returncode == 0 and found else None


def _from(version: str, wanted: tuple[int, int]) -> bool:
    """Builds from the development branch carry a commit instead of a number and are taken as new."""
    number = _NUMBER.match(version)
    return number is None or (int(number[1]), int(number[2])) >= wanted


def _shipped() -> Path | None:
    try:
        import imageio_ffmpeg

        return Path(imageio_ffmpeg.get_ffmpeg_exe())
    except (ImportError, RuntimeError, OSError):
        return None
