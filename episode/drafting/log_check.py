"""The find log held against the film, what was said, and the photographs."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from episode.drafting.result import DayResult
from episode.models import Claim, LogEntry, LogFinding, Photos

_SAME_MAKER = 65.0
"""Likeness of letters (0 to 100) from which a maker heard is the one logged: recognisers spell names as they like."""


def log_findings(day: DayResult, photos: Photos) -> tuple[LogFinding, ...]:
    """Everything to look at in the log, by kind; within a kind in order of the log, of the film, of file names.

    Dates are held against what was said of the same find when it was made; only intervals with no year in common
    differ. A maker differs where one was said and none that was said is spelled like the log's.
    """
    return (
        *_unlogged(day),
        *_unfilmed(day),
        *_dates(day),
        *_makers(day),
        *_numbers(day),
        *_photos(day, photos),
    )


def _unlogged(day: DayResult) -> Iterator[LogFinding]:
    moments = {moment.id: moment for moment in day.moments}
    for name in day.matched.unlogged:
        if (moment := moments.get(name)) is not None:
            what = moment.title or moment.term or "something with no name"
            yield LogFinding(
                kind="filmed, not logged",
                clip=moment.clip,
                start=moment.start,
                moment=moment.id,
                what=f"{what} is shown, and no row of the log is it",
                todo="Add it to the log, or pair it with its row in the review.",
            )


def _unfilmed(day: DayResult) -> Iterator[LogFinding]:
    for find in day.matched.unfilmed:
        if (row := day.entries.get(find)) is not None:
            yield LogFinding(
                kind="logged, not filmed",
                row=row.row,
                find=find,
                what=f"{row.object or 'the find'} is shown nowhere",
                todo="Film it, or pair it with its moment in the review.",
            )


def _dates(day: DayResult) -> Iterator[LogFinding]:
    from episode.claims.intervals import relation
    from episode.drafting.years import say_years

    said: dict[int, list[Claim]] = {}
    rows = {row.row: row for row in day.log}
    for row, claim in _said_of_rows(day):
        if claim.kind in {"date", "period"} and (claim.from_ is not None or claim.to is not None):
            said.setdefault(row.row, []).append(claim)
    for number, claims in said.items():
        # Of several dates said of it the narrowest counts, as in the description: wider ones are often of the type.
        row, claim = rows[number], min(claims, key=_width)
        for column, logged in _logged(row, day):
            if relation((claim.from_, claim.to), logged) == "apart":
                yield LogFinding(
                    kind="date differs",
                    row=row.row,
                    find=row.find,
                    clip=claim.clip,
                    start=claim.start,
                    moment=claim.moment,
                    what=f"the log's {column} is {say_years(*logged)}; said was {say_years(claim.from_, claim.to)}",
                    todo="Find out which is right; mend the log, or put the statement right.",
                )


def _width(claim: Claim) -> float:
    return claim.to - claim.from_ if claim.from_ is not None and claim.to is not None else float("inf")


def _logged(row: LogEntry, day: DayResult) -> Iterator[tuple[str, tuple[int | None, int | None]]]:
    """The row's years, and those of its period, by what the log calls them."""
    from episode.record.catalogue import catalogue_years

    if row.from_ is not None or row.to is not None:
        yield "date", (row.from_, row.to)
    if row.period:
        years = catalogue_years(row.period, filmed=day.filmed, convention=day.settings.convention)
        if years is not None:
            yield "period", years


def _makers(day: DayResult) -> Iterator[LogFinding]:
    said: dict[int, list[Claim]] = {}
    rows = {row.row: row for row in day.log}
    for row, claim in _said_of_rows(day):
        if claim.kind == "maker" and row.maker.strip():
            said.setdefault(row.row, []).append(claim)
    for number, claims in said.items():
        row = rows[number]
        if max(likeness(row.maker, c.quote) for c in claims) < _SAME_MAKER:
            yield LogFinding(
                kind="maker differs",
                row=row.row,
                find=row.find,
                clip=claims[0].clip,
                start=claims[0].start,
                moment=claims[0].moment,
                what=f"the log's maker is {row.maker}; said was “{claims[0].quote}”",
                todo="Find out which is right; mend the log, or put the statement right.",
            )


def likeness(maker: str, words: str) -> float:
    """How like the letters of ``maker`` the likest run of ``words`` is, 0 to 100; "and" between partners counts not."""
    from rapidfuzz import fuzz

    wanted, said = _names(maker), _names(words)
    counts = range(max(1, len(wanted) - 1), len(wanted) + 2)
    runs = ("".join(said[at : at + count]) for at in range(len(said)) for count in counts)
    return max((fuzz.ratio("".join(wanted), run) for run in runs), default=0.0)


def _names(text: str) -> list[str]:
    return [word for word in re.findall(r"[^\W_]+", text.casefold()) if word != "and"]


def _said_of_rows(day: DayResult) -> Iterator[tuple[LogEntry, Claim]]:
    """Claims about the making of finds that are logged, each with its row, in order of the log."""
    made: dict[str | None, list[Claim]] = {}
    for claim in day.claims:
        if claim.aspect == "made":
            made.setdefault(claim.find, []).append(claim)
    for row in day.log:
        if day.entries.get(row.find) is row:
            yield from ((row, claim) for claim in made.get(row.find, ()))


def _numbers(day: DayResult) -> Iterator[LogFinding]:
    from episode.matching.numbers import missing_numbers, unnumbered

    for number in missing_numbers(day.log):
        yield LogFinding(
            kind="number missing",
            find=number,
            what=f"no row has the number {number}",
            todo="If a row was lost, put it back; if the number was never used, nothing is wrong.",
        )
    used = Counter(row.find.strip().casefold() for row in day.log)
    for row in day.log:
        if row.find == unnumbered(row):
            yield LogFinding(
                kind="no number", row=row.row, what=f"{row.object or 'a find'} has no number", todo="Give it one."
            )
        elif used[row.find.strip().casefold()] > 1:
            yield LogFinding(
                kind="number twice",
                row=row.row,
                find=row.find,
                what=f"the number {row.find} stands for {used[row.find.strip().casefold()]} rows",
                todo="Give each find a number of its own; until then they cannot be told apart.",
            )


def _photos(day: DayResult, photos: Photos) -> Iterator[LogFinding]:
    finds = {row.row: row.find for row in day.log}
    for row, name in photos.missing:
        yield LogFinding(
            kind="photo missing",
            row=row,
            find=finds.get(row),
            what=f"the photograph {name} is not in photos/, or is not the only one of that name",
            todo="Copy it there, or mend the name in the log.",
        )
    if day.log:
        for name in photos.unnamed:
            yield LogFinding(
                kind="photo not named",
                what=f"no row names the photograph {name}",
                todo="Name it in its find's row, or take it out of photos/.",
            )
