"""``wording``: the built-in templates of the description, to change."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from episode.cli.door import door, say


def add(app: typer.Typer) -> None:
    """Put ``wording`` on the command line."""
    app.command("wording")(wording)


@door
def wording(
    day: Annotated[Path, typer.Argument(metavar="DAY", help="The day folder.", show_default=False)],
    names: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[FORM]...", help="Which: description.txt, description.md, short.txt, comment.txt; all."
        ),
    ] = None,
) -> None:
    """Lay the description's templates into DAY/templates/, so that you can word it your way. None is overwritten.

    What you do not want to change, remove again: the built-in one is used then.

        episode wording 2026-05-03-skelby-sands short.txt
    """
    from episode.drafting.laying_out import lay_out

    laid, kept = lay_out(day, tuple(names or ()))
    for path in kept:
        say(f"  {path} is there already, and was left as it is")
    for path in laid:
        say(f"  {path}")
    if laid:
        say(f"Change what you like, then: episode make {day}")
