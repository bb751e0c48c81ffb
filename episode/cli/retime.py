"""``retime``: everything onto the finished cut."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from episode.cli.door import door, one_line, print_json, report, say
from episode.cli.make import Day, Json, Model, Out, Silent, progress_for
from episode.errors import Exit


def add(app: typer.Typer) -> None:
    """Put ``retime`` on the command line."""
    app.command("retime")(retime)


@door
def retime(
    day: Day,
    cut: Annotated[
        Path, typer.Argument(metavar="CUT", help="The finished film, or its .otio or .edl.", show_default=False)
    ],
    out: Out = None,
    model: Model = None,
    json: Json = False,
    quiet: Silent = False,
) -> Exit:
    """Find by sound where each piece of the finished film came from, and move chapters and claims onto it.

    out/chapters.* and out/description.txt are then those of the film (`make` writes the raw ones again); moments,
    claims, promises, the transcript and the list of pieces on its time line go to out/cut/. Pieces that a person
    should look at are named; a find that was cut out drops from the chapters and is listed. The film is only read.

        episode retime 2026-05-03-skelby-sands skelby-final.mp4
    """
    from episode.make import Options
    from episode.recut import recut
    from episode.results import cut_document, plain

    done = recut(day, cut, Options(out=out, model=model), progress=progress_for(quiet))
    report((*done.result.problems, *done.traced.problems))
    traced, moved = done.traced, done.retimed
    if json:
        print_json(plain(cut_document(traced, moved), done.result.settings))
    else:
        _tell(done.traced.pieces)
        say(f"{len(moved.moments)} moments are in the film; finds cut out: {', '.join(done.cut_out) or 'none'}")
        say(f"{len(done.result.chapters)} chapters. Written to {done.out}")
    return done.status


def _tell(pieces) -> None:  # type: ignore[no-untyped-def]  # pieces of a cut
    from episode.drafting.stamps import stamp

    for piece in pieces:
        place = f"{stamp(piece.cut_start)} to {stamp(piece.cut_end)}"
        whence = f"{one_line(piece.clip)} from {stamp(max(0.0, piece.clip_start))}" if piece.clip else "from no clip"
        doubts = f" (look: {', '.join(piece.flags)})" if piece.flags else ""
        say(f"  {place}: {whence}{doubts}")
