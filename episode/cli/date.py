"""``date``: a date phrase, a mark or a count of pipe bores to years, with its source."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

import typer

from episode.cli.door import door, print_json, say
from episode.errors import Exit, UnusableInput


def add(app: typer.Typer) -> None:
    """Put ``date`` on the command line."""
    app.command("date")(date)


@door
def date(
    phrase: Annotated[
        list[str], typer.Argument(metavar="PHRASE", help="Words, a mark, or pipe bores.", show_default=False)
    ],
    convention: Annotated[
        str, typer.Option("--convention", metavar="NAME", help="How words such as early and circa are read.")
    ] = "historic-england",
    filmed: Annotated[
        str | None,
        typer.Option("--filmed", metavar="DATE", help="For ages: the day it was said (else today)."),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the result on standard output as JSON.")] = False,
) -> Exit:
    """Turn a date phrase, a mark or a count of pipe bores into years, and say what that rests on.

    episode date late 17th into the early 18th century

    episode date "Rd 821265"

    episode date diamond Q B 23 class IV

    episode date pipes 4:22 5:42 6:6

    episode date 12 Elizabeth I

    episode date ceramics creamware:21, pearlware:17

    episode date patent 10811/97

    episode date legend CAROLVS II DEI GRATIA

    episode date hallmark London c 1776
    """
    from episode.record.marks import read_mark

    text = " ".join(phrase)
    mark = read_mark(text)
    if mark is not None:
        if json:
            print_json({"format": "episode.date/1", **mark.model_dump(by_alias=True, mode="json")})
        else:
            for line in mark.lines():
                typer.echo(line)
        return Exit.DONE
    return _words(text, convention, _day(filmed), json=json)


def _words(text: str, convention: str, filmed: dt.date, *, json: bool) -> Exit:
    from episode.record.dates import read_dates

    spans = read_dates(text, filmed=filmed, convention=convention)
    if json:
        print_json({"format": "episode.date/1", "dates": [span.model_dump(by_alias=True) for span in spans]})
    for span in () if json else spans:
        typer.echo(f"{span.text}: {_years(span.from_, span.to)}  (EDTF {span.edtf})")
        for note in (span.convention and f"convention: {span.convention}", span.note):
            if note:
                typer.echo(f"  {note}")
    if not spans:
        say("No date in that: nothing was guessed.")
        return Exit.UNUSABLE
    return Exit.DONE


def _years(start: int | None, end: int | None) -> str:
    if start == end:
        return _year(start)
    if start is None:
        return f"until {_year(end)}"
    return f"{_year(start)} or later" if end is None else f"{_year(start)} to {_year(end)}"


def _year(year: int | None) -> str:
    if year is None:
        return "?"
    return f"{1 - year} BC" if year <= 0 else f"AD {year}" if year < 1000 else str(year)


def _day(said: str | None) -> dt.date:
    if said is None:
        return dt.datetime.now(tz=dt.UTC).date()
    try:
        return dt.date.fromisoformat(said)
    except ValueError as error:
        raise UnusableInput("is not a date", where=said, remedy="Write it as 2026-05-03.") from error
