"""A fact of the record as evidence for a claim."""

from __future__ import annotations

from episode.models import Evidence, Fact
from episode.record.load import Record


def evidence_of(fact: Fact, record: Record) -> Evidence:
    """The fact's statement, its source as a short reference, and its years."""
    return Evidence(
        statement=fact.statement,
        source=record.reference(fact.source),
        from_=fact.from_,
        to=fact.to,
        grade=fact.grade,
    )
