"""Where the day went. Exact positions live in memory only: nothing here is ever written, and none of it prints itself."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Annotated, Literal

from pydantic import Field

from episode.models.base import Value

Latitude = Annotated[float, Field(ge=-90, le=90, repr=False)]
Longitude = Annotated[float, Field(ge=-180, le=180, repr=False)]
"""Degrees of WGS 84, north and east positive."""


class Fix(Value):
    """A point of a track. ``at`` is in UTC, or None where the file gives no time."""

    at: datetime | None = None
    lat: Latitude
    lon: Longitude


class Waypoint(Value):
    """A point that the person marked, with the name they gave it."""

    name: str = Field(default="", repr=False)
    at: datetime | None = None
    lat: Latitude
    lon: Longitude


class Track(Value):
    """What ``track.gpx`` holds: unbroken stretches of fixes, those with times in order of time, and waypoints."""

    segments: tuple[tuple[Fix, ...], ...] = ()
    waypoints: tuple[Waypoint, ...] = ()


class Photo(Value):
    """What a photograph says about itself. ``name`` is its path below ``photos/`` with forward slashes.

    ``orientation`` is EXIF's (1 to 8); ``clock`` says which of its clocks gave ``at``.
    """

    name: str
    at: datetime | None = None
    clock: Literal["", "GPS", "camera"] = ""
    lat: float | None = Field(default=None, ge=-90, le=90, repr=False)
    lon: float | None = Field(default=None, ge=-180, le=180, repr=False)
    orientation: int = Field(default=1, ge=1, le=8)


class Photos(Value):
    """The photographs of a day: ``by_row`` by the row's number in the log, in the order the row names them."""

    by_row: Mapping[int, tuple[Photo, ...]] = Field(default_factory=dict)
    missing: tuple[tuple[int, str], ...] = ()
    """(row, name) that no file answers to, or more than one."""
    unnamed: tuple[str, ...] = ()
    """Files that no row names."""

    @property
    def times(self) -> dict[int, datetime]:
        """For each row the time of its earliest photograph that has one."""
        known = {row: [p.at for p in photos if p.at is not None] for row, photos in self.by_row.items()}
        return {row: min(times) for row, times in known.items() if times}


class Walk(Value):
    """Where the day went, no finer than the settings allow and without times: fit to be drawn.

    ``lines`` hold south-west corners of squares: easting and northing in metres on the National Grid, or latitude
    and longitude in degrees.
    """

    system: Literal["national grid", "latitude and longitude"]
    lines: tuple[tuple[tuple[float, float], ...], ...] = ()
