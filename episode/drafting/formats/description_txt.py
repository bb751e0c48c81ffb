"""The description draft as it is pasted."""

from __future__ import annotations

from episode.drafting.description import description
from episode.drafting.result import DayResult

NAME = "description.txt"


def render(day: DayResult) -> str:
    """The draft that the day already carries, else a new one."""
    text = day.description or description(day)
    return text if text.endswith("\n") else text + "\n"
