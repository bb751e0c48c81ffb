"""Frame rates and frames of clips whose rates may differ."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from episode.models import Clip

DEFAULT_RATE = 25.0
"""For days without any picture (common practice in Europe, no source)."""
_KNOWN = (
    Fraction(24000, 1001),
    Fraction(24),
    Fraction(25),
    Fraction(30000, 1001),
    Fraction(30),
    Fraction(48000, 1001),
    Fraction(48),
    Fraction(50),
    Fraction(60000, 1001),
    Fraction(60),
)
"""Rates that SMPTE ST 12 timecode is counted at, and their doubles; others are taken to the nearest (from memory)."""


def rate_of(clip: Clip, fallback: float = DEFAULT_RATE) -> float:
    """The clip's frame rate as the standard rate next to it; ``fallback`` where it has no picture or an odd rate."""
    if not clip.fps or not clip.has_video:
        return fallback
    nearest = min(_KNOWN, key=lambda rate: abs(float(rate) - (clip.fps or 0)))
    # Phones record at variable rates, 29.83 or so; anything further off (time lapse, 120 fps) keeps its own.
    return float(nearest) if abs(float(nearest) - clip.fps) <= 0.6 else float(clip.fps)


def common_rate(clips: Sequence[Clip]) -> float:
    """The one rate for what can hold only one: that of the most footage by time, the higher on a tie."""
    seconds: dict[float, float] = {}
    for clip in clips:
        if clip.has_video and clip.fps:
            rate = rate_of(clip)
            seconds[rate] = seconds.get(rate, 0.0) + clip.duration
    known = {float(rate) for rate in _KNOWN}
    usable = {rate: length for rate, length in seconds.items() if rate in known}
    return max(usable, key=lambda rate: (usable[rate], rate)) if usable else DEFAULT_RATE
