"""Makers with place and years, from supported claims alone."""

from __future__ import annotations

import re

from episode.drafting.parts.writing import Writing, sentence
from episode.drafting.years import say_years
from episode.models import Evidence, Verdict


def makers(writing: Writing) -> list[str]:
    """A line for each fact about a maker that a supported claim rests on."""
    if not writing.detail.makers:
        return []
    lines: list[str] = []
    for claim in writing.day.claims:
        if claim.kind != "maker" or claim.struck or claim.verdict is not Verdict.SUPPORTED:
            continue
        for evidence in claim.evidence[:1]:
            line = sentence(writing.text(claim.wording) if claim.wording else _statement(evidence, writing)).rstrip(
                "."
            ) + writing.cite(claim)
            if line not in lines:
                lines.append(writing.rest(line, claims=[claim]))
    return lines


def _statement(evidence: Evidence, writing: Writing) -> str:
    statement = writing.text(evidence.statement)
    years = say_years(evidence.from_, evidence.to)
    return statement if re.search(r"\d", statement) or not years else f"{statement.rstrip('.')}, {years}"
