"""Every command in one place, in the order in which a person meets them."""

from __future__ import annotations

from typing import Annotated

import typer

from episode import __version__
from episode.cli import correct, date, doctor, make, new, retime, review, schema, vocab, wording

HELP = """
From a day's raw footage and find log to chapters, checked claims and a description draft.

Goes in: a day folder with footage/ (clips from any camera), and if you have them finds.csv (your log),
episode.toml (title, date, place), track.gpx and references.csv.

Comes out, in out/: the transcript, each find's moment tied to its log entry, chapters, a list of every date,
period and maker said aloud with what the record holds on it, the promises made on camera, files for your
editor, a description draft, and one page to look at it all. Your own files are never written to, nothing
leaves your machine, and nothing is published: you decide.

    episode new 2026-05-03-skelby-sands

    episode make 2026-05-03-skelby-sands

    episode review 2026-05-03-skelby-sands
"""

app = typer.Typer(
    name="episode",
    help=HELP,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"episode {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    pass


new.add(app)
make.add(app)
review.add(app)
retime.add(app)
wording.add(app)
correct.add(app)
date.add(app)
vocab.add(app)
schema.add(app)
doctor.add(app)
