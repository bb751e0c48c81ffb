"""The lower parts of a description: references, disclosures, credits."""

from __future__ import annotations

from episode.drafting.parts.writing import Writing, sentence

_SHORT_REFERENCE = 48


def references(writing: Writing) -> list[str]:
    """The sources cited above, by number; call it after every part that cites."""
    return [f"[{number}] {_reference(source, writing)}" for number, source in enumerate(writing.references, start=1)]


def disclosures(writing: Writing) -> list[str]:
    """What viewers and harbour authorities must be told."""
    told = writing.day.settings.disclosures
    lines = []
    if told.sponsor:
        lines.append(f"Sponsored by {writing.text(told.sponsor)}.")
    if told.gifted:
        lines.append("Given to us free of charge: " + "; ".join(writing.text(g) for g in told.gifted) + ".")
    if told.permit:
        number = writing.text(told.permit_number) if told.show_permit_number else ""
        lines.append(f"Permit: {writing.text(told.permit)}" + (f", number {number}." if number else "."))
    if told.statement:
        lines.append(sentence(writing.text(told.statement)))
    return lines


def credits_(writing: Writing) -> list[str]:
    """The credits as the settings give them."""
    return [writing.text(line) for line in writing.day.settings.credits] if writing.detail.credits else []


def _reference(source: str, writing: Writing) -> str:
    if writing.detail.long_references or len(source) <= _SHORT_REFERENCE:
        return source
    return source[: _SHORT_REFERENCE - 1].rsplit(" ", 1)[0].rstrip(" ,;:.") + "…"
