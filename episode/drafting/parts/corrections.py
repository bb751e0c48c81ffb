"""What was put right after publishing."""

from __future__ import annotations

from episode.drafting.parts.writing import Writing, sentence


def corrections(writing: Writing) -> list[str]:
    """A line for each correction: what was said, what is so, and where that was read. Never shortened away."""
    lines = []
    for correction in writing.day.corrections:
        said = writing.text(correction.quote).rstrip(".")
        cited = writing.cite_sources([correction.reference] if correction.reference else [])
        line = f"We said: “{said}”. {sentence(writing.text(correction.text)).rstrip('.')}{cited}."
        lines.append(writing.rest(line, settings="decisions.jsonl, correct"))
    return lines
