"""Chapters as lines of a description: ``0:00 Title``."""

from __future__ import annotations

from episode.drafting.chapters import chapter_problems
from episode.drafting.result import DayResult
from episode.drafting.stamps import stamp

NAME = "chapters.txt"


def render(day: DayResult) -> str:
    """One line a chapter; where hosts would not take them, no stamps at all and the reason in their place."""
    problems = chapter_problems(day.chapters)
    if problems:
        return "".join(f"No chapters: {problem.what}.\n" for problem in problems)
    return "".join(f"{line}\n" for line in lines(day))


def lines(day: DayResult) -> list[str]:
    """The lines, whether or not there are enough of them; hours on every stamp or on none."""
    hours = any(chapter.start >= 3600 for chapter in day.chapters)
    return [f"{stamp(chapter.start, hours=hours)} {chapter.title}" for chapter in day.chapters]
