"""``retime``: the day's results moved onto the finished cut."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from episode.cutting.pieces import Retimed, Traced
from episode.day.lock import holding
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.errors import Exit, UnusableInput
from episode.make import Options, make
from episode.models import Clip, Stance, StartFrom
from episode.progress import Progress, Quiet
from episode.writing import Made, write_cut

TIMELINES = {".otio", ".edl"}


@dataclass(frozen=True)
class Recut:
    """The traced cut, what moved with it, the day's results on the cut's time line, and where the files are."""

    traced: Traced
    retimed: Retimed
    result: DayResult
    out: Path
    status: Exit
    cut_out: tuple[str, ...]
    """Finds that the film no longer shows, as title and id."""


def recut(folder: Path, cut: Path, options: Options | None = None, *, progress: Progress | None = None) -> Recut:
    """Find where each piece of ``cut`` came from and move chapters, moments, claims and words onto it.

    ``cut`` is the finished film (traced by its sound) or the editor's ``.otio`` or ``.edl``. The day is brought
    up to date first. Writes ``chapters.*`` and ``description.txt`` for the cut, and the rest to ``out/cut/``.

    Raises:
        UnusableInput: no such file, no sound in it, or no timeline in it.
        As ``make`` otherwise.
    """
    options, progress = options or Options(), progress or Quiet()
    if not cut.is_file():
        raise UnusableInput("there is no such file", where=str(cut), remedy="Give the film, or its .otio or .edl.")
    made = make(folder, options, progress=progress)
    traced = _traced(cut, made.result.clips, progress)
    from episode.cutting.retime import retime

    day = made.result
    finds = {m.id: m for m in day.moments if m.stance in {Stance.FOUND, Stance.EARLIER, Stance.UNSURE}}
    moved = retime(traced, moments=day.moments, claims=day.claims, promises=day.promises, transcript=day.transcript)
    result = _on_the_cut(day, moved, cut)
    if day.respelt is not None:
        result = result.model_copy(update={"respelt": retime(traced, transcript=day.respelt).transcript})
    with holding(made.out):
        write_cut(Made(result, (), made.out, made.step), traced, moved)
    gone = (finds[item.id] for item in moved.dropped if item.what == "moment" and item.id in finds)
    cut_out = tuple(f"{outgoing(m.title or m.term or 'unnamed', day.settings)} ({m.id})" for m in gone)
    return Recut(traced, moved, result, made.out, made.status, cut_out)


def _traced(cut: Path, clips: tuple[Clip, ...], progress: Progress) -> Traced:
    if cut.suffix.lower() in TIMELINES:
        from episode.cutting.timeline import read_timeline

        return read_timeline(cut, clips)
    from episode.cutting.trace import trace

    return trace(cut, clips, progress=progress)


def _on_the_cut(day: DayResult, moved: Retimed, cut: Path) -> DayResult:
    """The day as if the cut were its only clip: what drafting needs to word it."""
    from episode.drafting.chapters import chapters
    from episode.drafting.description import draft

    film = Clip(
        name=moved.cut,
        path=cut,
        duration=moved.duration,
        start=datetime(1970, 1, 1, tzinfo=UTC),
        start_from=StartFrom.MODIFIED,
        camera="cut",
    )
    shown = {moment.id for moment in moved.moments}
    matched = day.matched.model_copy(
        update={
            "moments": moved.moments,
            "unlogged": tuple(name for name in day.matched.unlogged if name in shown),
        }
    )
    # Finds of the day stay in the record of it; what the film does not show is not said of the film.
    result = day.model_copy(
        update={
            "cut": moved.cut,
            "clips": (film,),
            "matched": matched,
            "claims": moved.claims,
            "promises": moved.promises,
            "transcript": moved.transcript,
            "chapters": chapters(moved.moments, moved.transcript, (film,), day.settings, None, moved.claims),
        }
    )
    written = draft(result)
    return result.model_copy(update={"description": written.text, "promises": written.promises})
