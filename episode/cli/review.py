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
    """Put the day on the table: look, listen and put right, on this machine only.

    Every decision is a line of `decisions.jsonl` in the day folder; the files in out/ follow a moment later.
    Nothing is reachable from other machines. Stop it with Ctrl-C.

        episode review 2026-05-03-skelby-sands
    """
    from episode.cli.bars import Bars
    from episode.review.open_desk import open_desk
    from episode.review.server import serve

    desk = open_desk(day, progress=Bars())
    try:
        serve(day, desk, port=port, said=say)
    finally:
        desk.close()
