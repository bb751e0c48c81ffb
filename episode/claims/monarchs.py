"""A date said beside a reign or a period, or of the life of whoever reigned."""

from __future__ import annotations

import re

from episode.claims.intervals import gap, relation
from episode.claims.opinions import Opinion, claimed
from episode.claims.said import years
from episode.claims.statements import Statement
from episode.models import Fact, Grade, Verdict
from episode.record.load import Record

_CAME = re.compile(r"\b(?:came to the throne|became (?:king|queen)|began|started|succeeded|acce(?:ded|ssion))\b", re.I)
_BORN = re.compile(r"\bborn\b", re.IGNORECASE)
_DIED = re.compile(r"\b(?:died|dead|death)\b", re.IGNORECASE)
_NO_DEATH = "no death"
"""In the note of a reign that ended otherwise: by deposition, abdication or a change of title."""


def against_reign(statement: Statement, record: Record) -> Opinion | None:
    """What the record says of a date that stands with a reign or a period, or ``None`` where it says nothing.

    A year said as the same time must meet it; the years of a reign must be its own; an accession is its first
    year; a death is its last, unless it ended otherwise; nobody is born after it began.
    """
    other = statement.against
    if other is None or statement.span is None or other.from_ is None:
        return None
    for fact in (*record.reigns.values(), *record.periods.values()):
        if (fact.from_, fact.to) == (other.from_, other.to) and fact.grade is not Grade.MEMORY:
            if statement.aspect == "life":
                return _life(statement, fact)
            if statement.aspect == "reigned" and _CAME.search(statement.scene.text):
                return _in_year(statement, fact, fact.from_, "came to the throne")
            return _same_time(statement, fact)
    return None


def _life(statement: Statement, fact: Fact) -> Opinion | None:
    text, claim = statement.scene.text[: statement.at], claimed(statement)
    if _BORN.search(text) and not _DIED.search(text):
        if fact.from_ is not None and gap(claim, (None, fact.from_)) > 0:
            why = f"{fact.about} reigned from {years(fact.from_, fact.from_)}; the claim says {years(*claim)}"
            return Opinion(Verdict.CONTRADICTED, fact, why)
        return None
    if not _DIED.search(text):
        return None
    if _NO_DEATH in fact.note:
        if fact.to is not None and gap(claim, (fact.to, None)) > 0:
            why = f"{fact.about} reigned until {years(fact.to, fact.to)}; the claim says {years(*claim)}"
            return Opinion(Verdict.CONTRADICTED, fact, why)
        return None
    return _in_year(statement, fact, fact.to, "died")


def _in_year(statement: Statement, fact: Fact, year: int | None, did: str) -> Opinion | None:
    """The claim must be, or hold, that year."""
    claim = claimed(statement)
    if year is None:
        return None
    words = f"{fact.about} {did} in {years(year, year)}"
    stands = relation(claim, (year, year))
    if stands == "inside" or (stands == "contains" and statement.span is not None and statement.span.approximate):
        return Opinion(Verdict.SUPPORTED, fact, words)
    verdict = Verdict.CONTRADICTED if stands == "apart" else Verdict.IMPRECISE
    return Opinion(verdict, fact, f"{words}; the claim says {years(*claim)}")


def _same_time(statement: Statement, fact: Fact) -> Opinion | None:
    """A year beside a period can only be excluded by it, unless it is said to be the reign itself."""
    other, claim = statement.against, claimed(statement)
    if other is None:
        return None
    stands = relation(claim, (other.from_, other.to), 1)
    whole = statement.aspect == "reigned"
    said = f"“{other.text}” is {years(other.from_, other.to)}"
    if stands != "apart" and not whole:
        return None
    if whole and stands == "inside":
        return Opinion(Verdict.SUPPORTED, fact, said)
    verdict = Verdict.CONTRADICTED if stands == "apart" else Verdict.IMPRECISE
    return Opinion(verdict, fact, f"{said}; the claim says {years(*claim)}")
