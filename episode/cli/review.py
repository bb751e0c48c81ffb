"""``review``: the local page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from episode.cli.door import door, say


def add(app: typer.Typer) -> None:
    """Put ``review`` on the command line."""
    app.command("review")(review)


@door
def review(
    day: Annotated[Path, typer.Argument(metavar="DAY", help="The day folder, after `make`.", show_default=False)],
    port: Annotated[int, typer.Option("--port", help="Port on this machine; 0 takes a free one.")] = 0,
) -> None:
    """Show the day's page on this machine only, with stills and footage playing from where a find is named.

    Nothing is reachable from other machines. Stop it with Ctrl-C.

        episode review 2026-05-03-skelby-sands
    """
    from episode.review.server import serve

    serve(day, port=port, said=say)
