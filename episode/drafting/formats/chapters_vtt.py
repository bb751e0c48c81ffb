"""Chapters as a WebVTT chapters track (W3C WebVTT: one cue a chapter, its text the title)."""

from __future__ import annotations

import html

from episode.drafting.result import DayResult

NAME = "chapters.vtt"


def render(day: DayResult) -> str:
    """The file's text; titles are escaped as cue text asks (``&``, ``<``, ``>``)."""
    import webvtt

    track = webvtt.WebVTT()
    for number, chapter in enumerate(day.chapters, start=1):
        cue = webvtt.Caption(_time(chapter.start), _time(chapter.end), html.escape(chapter.title, quote=False))
        cue.identifier = str(number)
        track.captions.append(cue)
    return str(track.content).rstrip("\n") + "\n"


def _time(seconds: float) -> str:
    thousandths = round(seconds * 1000)
    whole, thousandth = divmod(thousandths, 1000)
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}.{thousandth:03d}"
