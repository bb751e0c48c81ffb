"""What viewers are asked: objects nobody could name, and what was asked on camera."""

from __future__ import annotations

from episode.drafting.counting import counted
from episode.drafting.finds import finds
from episode.drafting.parts.writing import Writing, sentence

FEWEST = 3
"""Kept when the rest has to go."""


def questions(writing: Writing) -> list[str]:
    """One line a question. No time stamps: hosts take every stamp in a description for a chapter's."""
    lines: list[str] = []
    asked = {p.moment for p in writing.day.promises if p.kind == "question" and p.moment}
    for find in finds(writing.day):
        if not find.unknown or any(m.id in asked for m in find.moments):
            continue
        if find.name:
            line = f"We think this may be {counted(1, writing.text(find.name), mass=find.mass)}, but we are not sure."
        else:
            line = "One object that nobody could name. Do you know what it is?"
        lines.append(writing.rest(line, moments=find.moments))
    for promise in writing.day.promises:
        if promise.kind == "question":
            lines.append(writing.rest(question(promise.text or promise.quote, writing), promises=[promise]))
    lines = list(dict.fromkeys(line for line in lines if line))
    return lines if writing.detail.every_question else lines[:FEWEST]


def question(words: str, writing: Writing) -> str:
    """The line that stands for a question asked on camera."""
    return sentence(writing.text(words))
