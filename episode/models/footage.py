"""Footage, as probed."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from pathlib import Path

from pydantic import Field

from episode.models.base import Seconds, Value


class StartFrom(StrEnum):
    """Where a clip's wall-clock start was read."""

    CREATION = "creation time"
    NAME = "file name"
    MODIFIED = "modification time"
    PREVIOUS = "end of the previous part"


class Clip(Value):
    """One file of footage, as probed.

    ``name`` is the path below ``footage/`` with forward slashes: the clip's identity everywhere.
    ``start`` is the camera's own opinion of the wall clock, not yet corrected by a ``Clock``.
    """

    name: str
    path: Path = Field(exclude=True)
    duration: Seconds
    start: datetime
    start_from: StartFrom
    camera: str
    make: str | None = None
    model: str | None = None
    width: int | None = None
    height: int | None = None
    rotation: int = 0
    fps: float | None = None
    timecode: str | None = None
    """Timecode of its first frame (SMPTE ST 12-1, ``hh:mm:ss:ff``), where the file carries one."""
    audio_tracks: int = 0
    has_video: bool = False
    transcript: Path | None = Field(default=None, exclude=True)
    """A transcript file beside the clip that stands in for recognition."""


class Tie(Value):
    """Two clips that recorded the same sound at the same time.

    A second ``t`` of ``clip`` is second ``t * (1 + drift_ppm * 1e-6) + shift_s`` of ``other``. ``error_s`` is half
    the width of a 95 % interval for the shift in the middle of what they share, ``overlap_s`` the length of that.
    """

    clip: str
    other: str
    shift_s: float
    drift_ppm: float = 0.0
    error_s: float = 0.02
    overlap_s: Seconds = 0.0
