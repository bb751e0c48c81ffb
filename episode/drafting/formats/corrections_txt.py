"""Corrections after publishing, as a comment to pin under the film."""

from __future__ import annotations

from episode.drafting.parts.corrections import corrections
from episode.drafting.parts.writing import Writing
from episode.drafting.result import DayResult

NAME = "corrections.txt"


def render(day: DayResult) -> str:
    """The comment; it says so where there is nothing to correct."""
    writing = Writing(day)
    lines = corrections(writing)
    if not lines:
        return "Nothing to correct so far.\n"
    head = "A correction:" if len(lines) == 1 else "Corrections:"
    read_in = [f"[{number}] {source}" for number, source in enumerate(writing.references, start=1)]
    return "\n".join([head, *lines, *read_in]) + "\n"
