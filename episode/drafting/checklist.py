"""What is left for a person to do before publishing."""

from __future__ import annotations

from episode.drafting.chapters import chapter_problems
from episode.drafting.result import DayResult
from episode.models import Promise, Stance, Value, Verdict


class Left(Value):
    """One kind of thing left to do. ``ids`` are claims, promises, moments or find numbers, by ``kind``."""

    kind: str
    what: str
    ids: tuple[str, ...]

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self.ids)


def checklist(day: DayResult, promises: tuple[Promise, ...] | None = None) -> tuple[Left, ...]:
    """Everything left, gravest first; kinds of which nothing is left are not in it.

    ``promises`` are those of the draft, if it has settled any that ``day`` has not. Where there is a finished film,
    what it no longer says or shows is not in it.
    """
    owed = day.promises if promises is None else promises
    matched = day.matched
    gone = day.film.gone if day.film else frozenset()
    owed = (*(p for p in owed if p.id not in gone), *(day.film.promises if day.film else ()))
    looked_at = {m.id for m in day.moments if "accept" in m.decided}
    unsure = tuple(m.id for m in day.moments if m.stance is Stance.UNSURE and m.id not in gone | looked_at)
    unlogged = tuple(name for name in matched.unlogged if name not in looked_at)
    found = (
        Left(kind="contradicted", what="said on camera, contradicted by the record", ids=_claims(day, "contradicted")),
        Left(kind="imprecise", what="wider than the record, or shifted", ids=_claims(day, "imprecise")),
        Left(kind="unreferenced", what="said on camera and without a reference", ids=_claims(day, "unreferenced")),
        Left(kind="promise", what="promised on camera and not kept yet", ids=tuple(p.id for p in owed if not p.kept)),
        Left(kind="caution", what="may have to be reported or need care", ids=_cautions(day)),
        Left(kind="unlogged", what="filmed and not in the log", ids=unlogged),
        Left(kind="unfilmed", what="in the log and not filmed", ids=matched.unfilmed),
        Left(kind="unsure", what="shown and not identified", ids=unsure),
        Left(kind="chapters", what="chapters that hosts would not take", ids=("chapters",) * bool(_unfit(day))),
        Left(kind="problem", what="parts that failed", ids=_failed(day)),
    )
    return tuple(left for left in found if left.ids)


def _claims(day: DayResult, verdict: str) -> tuple[str, ...]:
    wanted = Verdict(verdict)
    settled = wanted is not Verdict.CONTRADICTED  # a reference never lifts a contradiction by itself
    claims = day.claims
    if day.film is not None:  # what the film no longer says holds nothing up, what only it says does
        claims = (*(c for c in claims if c.id not in day.film.gone), *day.film.claims)
    return tuple(c.id for c in claims if c.verdict is wanted and not c.struck and not (settled and c.reference))


def _cautions(day: DayResult) -> tuple[str, ...]:
    return tuple(f"{c.kind} {n}" for n, c in enumerate(day.cautions, start=1) if c.kind not in {"tide"})


def _unfit(day: DayResult) -> bool:
    return bool(day.clips) and bool(chapter_problems(day.film.chapters if day.film else day.chapters))


def _failed(day: DayResult) -> tuple[str, ...]:
    return tuple(p.where for p in (*day.problems, *day.matched.problems) if p.level == "error")
