"""Times as a description shows them."""

from __future__ import annotations

import math


def stamp(seconds: float, *, hours: bool = False) -> str:
    """``m:ss`` of a time in seconds, ``h:mm:ss`` from one hour on or where ``hours`` asks; seconds are cut."""
    whole = math.floor(seconds + 1e-6)
    minutes, second = divmod(whole, 60)
    hour, minute = divmod(minutes, 60)
    return f"{hour}:{minute:02d}:{second:02d}" if hour or hours else f"{minute}:{second:02d}"
