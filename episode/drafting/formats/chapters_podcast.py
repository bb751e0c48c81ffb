"""Chapters for a podcast's feed: the JSON Chapters Format of the podcast namespace, version 1.2 (15 April 2021).

Keys and media type (``application/json+chapters``): Podcastindex-org/podcast-namespace, chapters/jsonChapters.md.
Its optional places and pictures are left out: a find spot is private, and a still has no address yet.
"""

from __future__ import annotations

import json
from typing import Any

from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult

NAME = "chapters.podcast.json"
VERSION = "1.2.0"


def render(day: DayResult) -> str:
    """The file's text: chapters by rising start, in seconds."""
    settings = day.settings
    shape: dict[str, Any] = {"version": VERSION}
    named = {"title": settings.title, "author": settings.presenter, "fileName": day.cut}
    shape |= {key: told for key, text in named.items() if (told := outgoing(text, settings))}
    shape["chapters"] = [
        {"startTime": round(c.start, 3), "title": c.title, "endTime": round(c.end, 3)}
        for c in sorted(day.chapters, key=lambda c: c.start)
    ]
    return json.dumps(shape, ensure_ascii=False, indent=1) + "\n"
