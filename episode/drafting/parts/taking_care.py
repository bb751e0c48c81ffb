"""What viewers are told about danger and about where finds are reported, worded for them.

The day's cautions are worded for the person who publishes; here each kind of them gives one line for viewers, from
``vocab/rules/viewer_notes.csv``. No find is named: a description is no place to announce what may be treasure.
"""

from __future__ import annotations

import csv
import functools
import io

from episode.drafting.parts.writing import Writing
from episode.lexicon.resources import vocab_root
from episode.models import Settings


def taking_care(writing: Writing) -> list[str]:
    """One line for each kind of caution that the day has, in their order."""
    if not writing.detail.care:
        return []
    kinds = dict.fromkeys(caution.kind for caution in writing.day.cautions)
    return [line for line in (_note(kind, writing.day.settings) for kind in kinds) if line]


def _note(kind: str, settings: Settings) -> str:
    rows = _notes().get(kind, ())
    here = settings.jurisdiction.strip().casefold()
    fitting = [text for where, text in rows if any(name in here for name in where)]
    fitting += [text for where, text in rows if "*" in where]
    return fitting[0] if fitting else ""


@functools.cache
def _notes() -> dict[str, tuple[tuple[tuple[str, ...], str], ...]]:
    text = vocab_root().joinpath("rules").joinpath("viewer_notes.csv").read_text(encoding="utf-8")
    found: dict[str, list[tuple[tuple[str, ...], str]]] = {}
    for row in csv.DictReader(io.StringIO(text)):
        found.setdefault(row["kind"], []).append((tuple(row["jurisdiction"].split(";")), row["text"]))
    return {kind: tuple(rows) for kind, rows in found.items()}
