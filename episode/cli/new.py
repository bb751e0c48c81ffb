"""``new``: start a day folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from episode.cli.door import door, say


def add(app: typer.Typer) -> None:
    """Put ``new`` on the command line."""
    app.command("new")(new)


@door
def new(
    day: Annotated[
        Path, typer.Argument(metavar="DAY", help="The folder to make, best named with its date.", show_default=False)
    ],
    title: Annotated[str, typer.Option("--title", help="The episode's working title.")] = "",
    place: Annotated[str, typer.Option("--place", help="Where, as coarse as you would say it in public.")] = "",
    zone: Annotated[str, typer.Option("--zone", help="The log's time zone, as in Europe/London.")] = "Europe/London",
) -> None:
    """Start a day folder: footage/, an episode.toml to fill in and an empty finds.csv. Nothing there is overwritten.

    episode new 2026-05-03-skelby-sands --place "Skelby Sands"
    """
    from episode.day.new import start

    made = start(day, title=title, place=place, zone=zone)
    for path in made:
        say(f"  {path}")
    say(f"Put your clips in {day / 'footage'}, your log in {day / 'finds.csv'}, then: episode make {day}")
