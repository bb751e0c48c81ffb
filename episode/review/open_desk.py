"""A day taken from its folder to the desk."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from episode.day.decisions import read_decisions
from episode.day.lock import holding
from episode.day.references import read_references
from episode.drafting.result import DayResult
from episode.make import Options, concluded, prepared
from episode.models import Decision
from episode.progress import Progress, Quiet
from episode.review.desk import Desk
from episode.writing import with_known_stills, write


def open_desk(folder: Path, options: Options | None = None, *, progress: Progress | None = None) -> Desk:
    """Work the day up to where the person's decisions begin to matter, once, and put it on the desk.

    Raises:
        As ``make``.
    """
    spotted = prepared(folder, options, progress=progress)
    out = spotted.made.out

    def work(decisions: tuple[Decision, ...]) -> DayResult:
        references, _ = read_references(folder)
        return with_known_stills(concluded(spotted, decisions, references).result, out)

    def written(day: DayResult) -> DayResult:
        with holding(out):
            return write(replace(spotted.made, result=day), Quiet()).result

    decisions, _ = read_decisions(folder)
    first = written(work(decisions))
    terms = sorted({term.term for term in spotted.lexicon.terms}, key=str.casefold)
    return Desk(folder, first, work, written, terms)
