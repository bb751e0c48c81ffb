"""The photographs that the log names, as a phone takes them: small pictures with time and place in their EXIF.

Tags by their numbers in CIPA DC-008. The places are those of the walk, in open sea.
"""

from __future__ import annotations

from pathlib import Path

from pictures import photograph
from PIL import Image

TAKEN = (
    ("sixpence.jpg", "sixpence", "jetty", "10:00:20", 53.695507, 0.655362),
    ("sherd.jpg", "pearlware", "sea wall", "10:21:05", 53.694375, 0.658490),
)
"""File, what it shows, on which shore, the phone's clock (summer time), latitude north, longitude east."""


def photographs(folder: Path) -> None:
    """Draw them all into ``folder``."""
    folder.mkdir(exist_ok=True)
    for name, shows, shore, clock, lat, lon in TAKEN:
        photograph(shows, shore).save(folder / name, quality=80, exif=_exif(clock, lat, lon))


def _exif(clock: str, lat: float, lon: float) -> Image.Exif:
    hour, minute, second = map(int, clock.split(":"))
    exif = Image.Exif()
    exif[0x0112] = 1
    exif.get_ifd(0x8769).update({0x9003: f"2026:05:03 {clock}", 0x9291: "40", 0x9011: "+01:00"})
    exif.get_ifd(0x8825).update(
        {
            1: "N",
            2: _angle(lat),
            3: "E",
            4: _angle(lon),
            7: (hour - 1.0, float(minute), float(second)),
            29: "2026:05:03",
        }
    )
    return exif


def _angle(degrees: float) -> tuple[float, float, float]:
    minutes = (degrees % 1) * 60
    return float(int(degrees)), float(int(minutes)), round((minutes % 1) * 60, 4)
