"""Chapters as data: ``chapters.json`` of the file contract."""

from __future__ import annotations

import json
from typing import Any

from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult

NAME = "chapters.json"
FORMAT = "episode.chapters/1"


def render(day: DayResult) -> str:
    """The file's text."""
    return json.dumps(shape(day), ensure_ascii=False, indent=1) + "\n"


def shape(day: DayResult) -> dict[str, Any]:
    """The file's content: ``format`` and ``chapters[]`` of ``start``, ``end`` (s), ``title``, ``moments[]``."""
    return {
        "format": FORMAT,
        "timeline": f"the finished cut {outgoing(day.cut, day.settings)}" if day.cut else "all clips in order",
        "chapters": [chapter.model_dump(mode="json") for chapter in day.chapters],
    }
