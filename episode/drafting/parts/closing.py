"""The lower parts of a description: references, disclosures, credits."""

from __future__ import annotations

import re

from episode.claims.misheard import names_it
from episode.drafting.parts.writing import Writing, sentence
from episode.models import Promise

_SHORT_REFERENCE = 48
_NAME = re.compile(r"\b[A-Z][\w'’-]+")


def references(writing: Writing) -> list[str]:
    """The sources cited above, by number; call it after every part that cites."""
    return [f"[{number}] {_reference(source, writing)}" for number, source in enumerate(writing.references, start=1)]


def disclosures(writing: Writing) -> list[str]:
    """What viewers and harbour authorities must be told."""
    told = writing.day.settings.disclosures
    lines = []
    if told.sponsor:
        lines.append(writing.rest(f"Sponsored by {writing.text(told.sponsor)}.", settings="disclosures.sponsor"))
    if told.gifted:
        given = "; ".join(writing.text(g) for g in told.gifted)
        lines.append(writing.rest(f"Given to us free of charge: {given}.", settings="disclosures.gifted"))
    if told.permit:
        number = writing.text(told.permit_number) if told.show_permit_number else ""
        permit = f"Permit: {writing.text(told.permit)}" + (f", number {number}." if number else ".")
        lines.append(writing.rest(permit, settings="disclosures.permit"))
    if told.statement:
        lines.append(writing.rest(sentence(writing.text(told.statement)), settings="disclosures.statement"))
    return lines


def credits_(writing: Writing) -> list[str]:
    """The credits as the settings give them."""
    if not writing.detail.credits:
        return []
    return [writing.rest(writing.text(line), settings="credits") for line in writing.day.settings.credits]


def thanks(writing: Writing) -> list[str]:
    """Whom the film thanked: as the credits spell them where they do, else in the words used."""
    lines = []
    for promise in writing.day.promises:
        if promise.kind == "thanks":
            words = credited(promise, writing) or writing.text(promise.text or promise.quote)
            lines.append(writing.rest(sentence(words), promises=[promise]))
    return list(dict.fromkeys(lines))


def credited(promise: Promise, writing: Writing) -> str | None:
    """The line of the credits that names whom ``promise`` thanked."""
    names = {name for name in _NAME.findall(promise.quote) if name not in {"Thanks", "Thank", "And", "The", "I"}}
    told = [writing.text(line) for line in writing.day.settings.credits]
    return next((line for line in told if any(names_it(name, line) for name in names)), None)


def _reference(source: str, writing: Writing) -> str:
    if writing.detail.long_references or len(source) <= _SHORT_REFERENCE:
        return source
    return source[: _SHORT_REFERENCE - 1].rsplit(" ", 1)[0].rstrip(" ,;:.") + "…"
