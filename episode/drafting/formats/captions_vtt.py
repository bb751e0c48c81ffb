"""Captions for upload as WebVTT, of the whole programme."""

from __future__ import annotations

from episode.drafting.captioning import captions, to_vtt
from episode.drafting.result import DayResult

NAME = "captions.vtt"


def render(day: DayResult) -> str:
    """The file's text."""
    return to_vtt(captions(day.written, day.clips, day.settings))
