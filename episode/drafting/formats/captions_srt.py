"""Captions for upload as SubRip text, of the whole programme."""

from __future__ import annotations

from episode.drafting.captioning import captions, to_srt
from episode.drafting.result import DayResult

NAME = "captions.srt"


def render(day: DayResult) -> str:
    """The file's text."""
    return to_srt(captions(day.written, day.clips, day.settings))
