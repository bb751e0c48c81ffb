"""``correct``: a correction after publishing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from episode.cli.door import door, say
from episode.errors import Exit


def add(app: typer.Typer) -> None:
    """Put ``correct`` on the command line."""
    app.command("correct")(correct)


@door
def correct(
    day: Annotated[Path, typer.Argument(metavar="DAY", help="The day folder, after `make`.", show_default=False)],
    said: Annotated[
        str,
        typer.Argument(metavar="SAID", help="What was said: a claim's id, or some of its words.", show_default=False),
    ],
    text: Annotated[
        str, typer.Argument(metavar="TEXT", help="What is so instead; empty withdraws it.", show_default=False)
    ],
    reference: Annotated[str, typer.Option("--reference", help="Where you read it.")] = "",
    out: Annotated[Path | None, typer.Option("--out", metavar="FOLDER", help="Where the day's results are.")] = None,
) -> Exit:
    """Put right what was said in a published film: in the description, and as a comment to pin.

    The correction is a line in decisions.jsonl, so it stands on every later run. out/corrections.txt holds the
    comment; the description gets a part of its own for it, and the statement no longer stands there as fact.

        episode correct 2026-05-03-skelby-sands "in 1822" "The patent is of 24 November 1870." --reference "Munsey 2010"
    """
    from episode.correcting import correcting
    from episode.make import Options, make

    claim = correcting(day, said, text, reference, out=out)
    made = make(day, Options(out=out))
    say(f"{'Corrected' if text.strip() else 'Withdrawn'}: {claim.quote}")
    say(f"Written to {made.out / 'corrections.txt'} and {made.out / 'description.txt'}")
    return made.status
