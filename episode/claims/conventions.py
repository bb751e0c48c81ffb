"""Whether a verdict rests on the convention by which the date was read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from episode.claims.beginnings import begun
from episode.claims.said import years
from episode.claims.statements import Statement
from episode.claims.verdicts import judge_dates
from episode.models import Verdict
from episode.record.conventions import conventions
from episode.record.dates import read_dates
from episode.record.load import Record


def by_convention(statement: Statement, verdict: Verdict, record: Record, chosen: str, filmed: date | None) -> str:
    """What other published conventions would make of the claim, in words; empty where all give this verdict."""
    span = statement.span
    if span is None:
        return ""
    text = statement.scene.text
    others: dict[tuple[str, str], list[str]] = {}
    for name in conventions():
        if name == chosen:
            continue
        again = [s for s in read_dates(text, filmed=filmed, convention=name) if s.at == span.at]
        said = again[0] if again and statement.begins else None
        if said is not None:
            again = [begun(text, said)]
        if not again or (again[0].from_, again[0].to) == (span.from_, span.to):
            continue
        other = judge_dates(replace(statement, span=again[0], begins=said), record).verdict
        if other is not verdict:
            others.setdefault((years(again[0].from_, again[0].to), other.value), []).append(name)
    if not others:
        return ""
    shown = ", ".join(f"{other} by {' and '.join(names)} ({read})" for (read, other), names in others.items())
    return f"the verdict depends on the date convention: {verdict.value} by {chosen} ({years(span.from_, span.to)}), {shown}"
