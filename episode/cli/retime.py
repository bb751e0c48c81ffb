"""``retime``: everything onto the finished cut."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from episode.cli.door import door, one_line, print_json, report, say
from episode.cli.make import Day, Json, Model, Out, Silent, progress_for
from episode.errors import Exit, UnusableInput

if TYPE_CHECKING:
    from episode.cutting.pieces import CutPiece
    from episode.make import Options
    from episode.recut import Recut

MOST_PIECES = 40
"""More pieces than this are not listed one by one, but for those to look at."""


def add(app: typer.Typer) -> None:
    """Put ``retime`` on the command line."""
    app.command("retime")(retime)


@door
def retime(
    day: Day,
    cut: Annotated[
        Path | None,
        typer.Argument(metavar="[CUT]", help="The finished film, or its .otio or .edl.", show_default=False),
    ] = None,
    film: Annotated[
        Path | None,
        typer.Option("--film", metavar="FILM", help="With an .otio or .edl: the film itself, to hear its new pieces."),
    ] = None,
    with_chapters: Annotated[
        Path | None,
        typer.Option(
            "--with-chapters",
            metavar="COPY",
            help="Also write a copy of the film with the chapters in it (no re-encoding).",
        ),
    ] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Let COPY take the place of a file of that name.")] = False,
    raw: Annotated[
        bool, typer.Option("--raw", help="Without CUT: back to the chapters and description of the raw clips.")
    ] = False,
    out: Out = None,
    model: Model = None,
    json: Json = False,
    quiet: Silent = False,
) -> Exit:
    """Find where each piece of the finished film came from, and move chapters and claims onto it.

    A film is traced by its sound, an editor's .otio or .edl is read. out/chapters.* and out/description.txt are
    then those of the film, and stay so with every later `make` until you say --raw; those of the raw clips are in
    out/raw/. Moments, claims, promises, the transcript, a picture of the edit and a list of what was cut out go
    to out/cut/. What a voice-over says is heard and checked too. The film is only read.

        episode retime 2026-05-03-skelby-sands skelby-final.mp4

        episode retime 2026-05-03-skelby-sands skelby-final.mp4 --with-chapters skelby-upload.mp4
    """
    from episode.make import Options

    options = Options(out=out, model=model)
    if raw:
        if cut is not None or film is not None or with_chapters is not None:
            raise UnusableInput("goes alone", where="--raw", remedy="Say `episode retime DAY --raw`.")
        return _back(day, options, quiet)
    if cut is None:
        raise UnusableInput(
            "which film?", where="CUT", remedy="Name the finished film or its .otio or .edl, or say --raw."
        )
    from episode.recut import recut
    from episode.results import cut_document, plain

    copied = _copied(cut, film, with_chapters, replace=replace) if with_chapters else None
    done = recut(day, cut, options, film=film, progress=progress_for(quiet))
    if copied is not None and with_chapters is not None:
        from episode.footage.chaptered import with_chapters as write_copy

        write_copy(copied, with_chapters, done.result.chapters, title=done.result.settings.title, replace=replace)
    report(done.problems)
    if json:
        print_json(plain(cut_document(done.traced, done.retimed), done.result.settings))
    else:
        _tell(done)
        if with_chapters is not None:
            say(f"The film with its chapters: {with_chapters} (nothing re-encoded)")
    return done.status


def _back(day: Path, options: Options, quiet: bool) -> Exit:
    from episode.recut import back_to_raw

    made = back_to_raw(day, options, progress=progress_for(quiet))
    report(made.result.problems)
    say(f"Chapters and description are those of the raw clips again. Written to {made.out}")
    return made.status


def _copied(cut: Path, film: Path | None, target: Path, *, replace: bool) -> Path:
    """The film to copy; what cannot be written is refused before an hour of work, not after it."""
    from episode.footage.chaptered import refuse
    from episode.recut import TIMELINES

    source = film or cut
    if source.suffix.lower() in TIMELINES:
        raise UnusableInput(
            "chapters are written into a copy of the film, and this is a timeline",
            where=str(cut),
            remedy="Say `--film FILM` as well.",
        )
    refuse(source, target, replace=replace)
    return source


def _tell(done: Recut) -> None:
    moved = done.retimed
    if done.remembered:
        say("The film and the clips are as they were when it was traced; it was not traced again.")
    _tell_pieces(done.traced.pieces)
    say(f"{len(moved.moments)} moments are in the film.")
    _tell_list("Finds cut out", done.cut_out)
    _tell_list("Promises no longer made", done.unsaid)
    unsaid = sum(1 for item in moved.dropped if item.what == "claim")
    if unsaid:
        say(f"{unsaid} claims are no longer made in the film and hold nothing up.")
    if done.new_claims:
        say(f"{done.new_claims} claims are made in pieces that come from no clip; they stand in out/cut/claims.json.")
    say(f"{len(done.result.chapters)} chapters. Written to {done.made.out}; those of the raw clips are in its raw/.")
    say(f"What was cut out, and why: {done.made.out / 'cut' / 'not-in-the-film.txt'}")


def _tell_list(title: str, items: tuple[str, ...]) -> None:
    say(f"{title}: " + ("; ".join(one_line(item) for item in items) or "none"))


def _tell_pieces(pieces: tuple[CutPiece, ...]) -> None:
    from episode.drafting.stamps import stamp

    shown = pieces if len(pieces) <= MOST_PIECES else tuple(p for p in pieces if p.flags)
    if len(shown) < len(pieces):
        say(f"{len(pieces)} pieces, listed in out/cut/cut.json; to look at:")
    for piece in shown:
        place = f"{stamp(piece.cut_start)} to {stamp(piece.cut_end)}"
        whence = f"{one_line(piece.clip)} from {stamp(max(0.0, piece.clip_start))}" if piece.clip else "from no clip"
        doubts = f" (look: {piece.look()})" if piece.flags else ""
        say(f"  {place}: {whence}{doubts}")
