"""Which promises made on camera a description keeps, and by which line."""

from __future__ import annotations

from episode.drafting.parts.closing import credited
from episode.drafting.parts.links import answers, gives_no_place_away, link_line
from episode.drafting.parts.questions import question
from episode.drafting.parts.writing import Writing
from episode.drafting.result import DayResult
from episode.models import Promise


def keep(day: DayResult, text: str) -> tuple[Promise, ...]:
    """The day's promises; ``kept`` and ``by`` set where a line of ``text`` keeps one. Decisions of a person stand."""
    lines = text.splitlines()
    return tuple(_settled(promise, day, lines) for promise in day.promises)


def _settled(promise: Promise, day: DayResult, lines: list[str]) -> Promise:
    if "kept" in promise.decided:
        return promise
    if promise.kept and promise.by and promise.by not in {link.url for link in day.settings.links}:
        return promise
    line = _line(promise, day, lines)
    return promise.model_copy(update={"kept": line is not None, "by": line}) if line or promise.by else promise


def _line(promise: Promise, day: DayResult, lines: list[str]) -> str | None:
    writing = Writing(day)
    if promise.kind in {"link", "detail", "event", "sponsor"}:
        for link in day.settings.links:
            if answers(link, promise) and gives_no_place_away(link, writing) and link_line(link, writing) in lines:
                return link_line(link, writing)
    if promise.kind == "question":
        asked = question(promise.text or promise.quote, writing)
        return asked if asked in lines else None
    if promise.kind == "sponsor":
        return next(
            (line for line in lines if day.settings.disclosures.sponsor and line.startswith("Sponsored by ")), None
        )
    if promise.kind == "thanks":
        line = credited(promise, writing)
        return line if line in lines else None
    return None
