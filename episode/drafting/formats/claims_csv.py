"""Claims as a list to work through in a spreadsheet (RFC 4180, UTF-8)."""

from __future__ import annotations

import csv
import io

from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.models import Claim, Settings
from episode.sheets import safe_cell

NAME = "claims.csv"
COLUMNS = (
    "id",
    "clip",
    "start",
    "end",
    "quote",
    "about",
    "find",
    "kind",
    "edtf",
    "from",
    "to",
    "verdict",
    "evidence",
    "evidence_source",
    "evidence_from",
    "evidence_to",
    "reference",
    "note",
)
BETWEEN = " | "
"""Between the parts of a cell where a claim has several pieces of evidence."""


def render(day: DayResult) -> str:
    """Header and one row a claim, lines ended by CR LF.

    Text that a spreadsheet would take for a formula gets an apostrophe before it; numbers stay numbers.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for claim in day.claims:
        writer.writerow([safe_cell(value) for value in _row(claim, day.settings)])
    return text.getvalue()


def _row(claim: Claim, settings: Settings) -> list[str | int | float | None]:
    def many(values: list[object]) -> str | int:
        if len(values) == 1 and isinstance(values[0], int):
            return values[0]
        return BETWEEN.join("" if value is None else outgoing(str(value), settings) for value in values)

    return [
        claim.id,
        claim.clip,
        round(claim.start, 3),
        round(claim.end, 3),
        outgoing(claim.quote, settings),
        None if claim.about is None else outgoing(claim.about, settings),
        claim.find,
        claim.kind,
        claim.edtf,
        claim.from_,
        claim.to,
        claim.verdict.value,
        many([e.statement for e in claim.evidence]),
        many([e.source for e in claim.evidence]),
        many([e.from_ for e in claim.evidence]),
        many([e.to for e in claim.evidence]),
        None if claim.reference is None else outgoing(claim.reference, settings),
        outgoing(claim.note, settings),
    ]
