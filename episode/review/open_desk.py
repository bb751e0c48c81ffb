"""A day taken from its folder to the desk."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from episode.claims.decided import decided
from episode.day.decisions import read_decisions
from episode.day.lock import holding
from episode.day.privacy import blur_text
from episode.day.references import read_references
from episode.day.undoing import current
from episode.drafting.result import DayResult, Film
from episode.make import Options, Spotted, Worked, concluded, prepared
from episode.models import Decision
from episode.progress import Progress, Quiet
from episode.recut import followed, without_films
from episode.review.desk import Desk
from episode.showing import with_known_stills


def open_desk(folder: Path, options: Options | None = None, *, progress: Progress | None = None) -> Desk:
    """Work the day up to where the person's decisions begin to matter, once, and put it on the desk.

    Raises:
        As ``make``.
    """
    options = options or Options()
    return desk_of(folder, prepared(folder, options, progress=progress), options)


def desk_of(folder: Path, spotted: Spotted, options: Options) -> Desk:
    """The desk of a day that was worked up to its mentions.

    Raises:
        As ``make``.
    """
    out = spotted.made.out
    film: list[Film | None] = [None]

    def work(decisions: tuple[Decision, ...]) -> DayResult:
        references, _ = read_references(folder)
        day = with_known_stills(concluded(spotted, decisions, references).result, out)
        told = film[0]
        if told is None:
            return day
        # The film is not heard again for a decision: what was found in it takes what was decided about it.
        here = tuple(d for d in current(decisions) if d.clip == told.name)
        claims, promises, _ = decided(told.found_claims, told.found_promises, here)
        told = told.model_copy(update={"claims": claims, "promises": promises})
        return without_films(day, told.name, decisions).model_copy(update={"film": told})

    def written(day: DayResult) -> DayResult:
        told = read_decisions(folder)[0], read_references(folder)[0]
        with holding(out):
            made = followed(Worked(replace(spotted.made, result=day), spotted, told), options, Quiet())
        film[0] = made.result.film
        return made.result

    decisions, _ = read_decisions(folder)
    first = written(work(decisions))
    # The day's own terms come from its log, where spots and private places stand: such are not offered.
    settings, names = spotted.made.result.settings, {term.term for term in spotted.lexicon.terms}
    terms = sorted((name for name in names if blur_text(name, settings) == name), key=str.casefold)
    return Desk(folder, first, work, written, terms)
