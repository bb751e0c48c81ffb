"""The programme's timeline: every clip in order, each beginning where the last ended."""

from __future__ import annotations

from collections.abc import Sequence

from episode.models import Clip, Seconds


def starts(clips: Sequence[Clip]) -> dict[str, Seconds]:
    """Where each clip begins on the programme's timeline, in seconds, by clip name."""
    found: dict[str, Seconds] = {}
    at = 0.0
    for clip in clips:
        found[clip.name] = round(at, 3)
        at += clip.duration
    return found


def total(clips: Sequence[Clip]) -> Seconds:
    """How long the programme's timeline is, in seconds."""
    return round(sum(clip.duration for clip in clips), 3)
