"""``retime``: the day's results moved onto the finished film, and kept there on later runs."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, replace
from pathlib import Path

from episode.cutting.kept import Kept, clip_keys, key_of, read_kept, write_kept
from episode.cutting.pieces import Retimed, Traced
from episode.day.lock import holding
from episode.drafting.keeping import keep
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult, Film
from episode.errors import Exit, UnusableInput
from episode.make import Options, make, worked
from episode.make import Worked as _Worked
from episode.models import Clip, Decision, Problem
from episode.onfilm import OnFilm, on_film
from episode.progress import Progress, Quiet
from episode.writing import Made, Step, clear_cut, write, write_cut

TIMELINES = {".otio", ".edl"}


@dataclass(frozen=True)
class Recut:
    """The traced film, what moved with it, the day's results on the film's time line, and where the files are."""

    traced: Traced
    retimed: Retimed
    result: DayResult
    made: Made
    status: Exit
    problems: tuple[Problem, ...]
    cut_out: tuple[str, ...]
    """Finds that the film no longer shows, as title and id."""
    unsaid: tuple[str, ...]
    """Promises that the film no longer makes."""
    new_claims: int
    remembered: bool
    """The film was traced before, and neither it nor the clips have changed since."""


def recut(
    folder: Path,
    cut: Path,
    options: Options | None = None,
    *,
    film: Path | None = None,
    progress: Progress | None = None,
) -> Recut:
    """Find where each piece of ``cut`` came from and move chapters, moments, claims and words onto it.

    ``cut`` is the finished film (traced by its sound) or the editor's ``.otio`` or ``.edl``; then ``film`` is the
    film itself, if it is to be listened to. The day is brought up to date first. Writes ``chapters.*`` and
    ``description.txt`` for the film, the raw ones to ``out/raw/``, the rest to ``out/cut/``. Later runs of ``make``
    keep them the film's.

    Raises:
        UnusableInput: no such file, no sound in it, or no timeline in it.
        As ``make`` otherwise.
    """
    options, progress = options or Options(), progress or Quiet()
    for path in (cut, film):
        if path is not None and not path.is_file():
            raise UnusableInput("there is no such file", where=str(path), remedy="Give the film, or its .otio or .edl.")
    if cut.suffix.lower() not in TIMELINES and film is not None and film.resolve() != cut.resolve():
        raise UnusableInput(
            "is a film already", where=str(cut), remedy="`--film` goes with an editor's .otio or .edl alone."
        )
    out = options.out or folder / "out"
    if not folder.is_dir():
        raise UnusableInput("is not a folder", where=str(folder), remedy="`episode new FOLDER` starts a day folder.")
    with holding(out):
        done = worked(folder, out, options, Step.DRAFT, progress)
        kept, remembered = _kept(out, cut, film, done.made.result.clips, progress)
        write_kept(out, kept)
        made, onto = _write(done, kept, options, progress)
    day = made.result
    gone = {item.id: item for item in onto.moved.dropped}
    finds = [m for m in day.moments if m.id in gone and m.id in _finds(day)]
    return Recut(
        traced=kept.traced,
        retimed=onto.moved,
        result=onto.result,
        made=made,
        status=made.status,
        problems=(*day.problems, *kept.traced.problems, *onto.problems),
        cut_out=tuple(f"{outgoing(m.title or m.term or 'unnamed', day.settings)} ({m.id})" for m in finds),
        unsaid=tuple(outgoing(f"{p.kind}: {p.text}", day.settings) for p in day.promises if p.id in gone),
        new_claims=len(onto.new_claims),
        remembered=remembered,
    )


def followed(done: _Worked, options: Options, progress: Progress) -> Made:
    """Write a run's files: the film's chapters and description too, where a film is in force and still the same.

    Raises:
        CannotWrite: as ``write``.
    """
    out = done.made.out
    kept = read_kept(out) if done.made.step == Step.DRAFT else None
    if kept is None or not kept.in_force:
        return write(done.made, progress)
    changed = _changed(kept, done.made.result.clips)
    if changed is None:
        made, onto = _write(done, kept, options, progress)
        note = Problem(
            where=Path(kept.cut).name,
            what="chapters and description in out/ are this film's; those of the raw clips are in out/raw/",
            remedy="`episode retime DAY --raw` puts the raw ones back.",
            level="note",
        )
        return _told(made, (*onto.problems, note))
    remedy = (
        "Run `episode retime DAY FILM` with the film as it is now, or `episode retime DAY --raw` for the raw clips."
    )
    what = f"{changed}; chapters and description in out/ are still those of the film as it was, not brought up to date"
    warning = Problem(where=Path(kept.cut).name, what=what, remedy=remedy)
    return write(_told(done.made, (warning,)), progress, aside=True)


def back_to_raw(folder: Path, options: Options | None = None, *, progress: Progress | None = None) -> Made:
    """Chapters and description of the raw clips again. The trace is kept, so that the film is not traced twice.

    Raises:
        As ``make``.
    """
    options = options or Options()
    out = options.out or folder / "out"
    kept = read_kept(out)
    if kept is not None:
        with holding(out):
            write_kept(out, kept.model_copy(update={"in_force": False}))
            clear_cut(out)
    return make(folder, options, progress=progress)


def _kept(out: Path, cut: Path, film: Path | None, clips: tuple[Clip, ...], progress: Progress) -> tuple[Kept, bool]:
    """The trace: as kept from before, if film and clips are the same, else made now."""
    key, keys = key_of(cut), clip_keys(clips)
    more = {
        "cut": str(cut.resolve()),
        "film": str(film.resolve()) if film else None,
        "film_key": key_of(film) if film else None,
        "in_force": True,
    }
    old = read_kept(out)
    fresh = Kept(cut=str(cut.resolve()), key=key, clips=keys, traced=Traced(cut=cut.name, duration=0, how="sound"))
    if old is not None and (old.method, old.key, old.clips) == (fresh.method, key, keys):
        traced = old.traced.model_copy(update={"cut": cut.name})
        if (old.traced.how == "sound") == (cut.suffix.lower() not in TIMELINES):
            return old.model_copy(update={**more, "traced": traced}), True
    return fresh.model_copy(update={**more, "traced": _traced(cut, clips, progress)}), False


def _traced(cut: Path, clips: tuple[Clip, ...], progress: Progress) -> Traced:
    if cut.suffix.lower() in TIMELINES:
        from episode.cutting.timeline import read_timeline

        return read_timeline(cut, clips)
    from episode.cutting.trace import trace

    return trace(cut, clips, progress=progress)


def _changed(kept: Kept, clips: tuple[Clip, ...]) -> str | None:
    """What is no longer as it was when the film was traced, in words."""
    for path, key in ((kept.cut, kept.key), (kept.film, kept.film_key)):
        if path is None:
            continue
        if not Path(path).is_file():
            return f"it is no longer where it was, in {Path(path).parent}"
        with contextlib.suppress(UnusableInput):
            if key_of(Path(path)) == key:
                continue
        return f"{Path(path).name} has changed since it was traced"
    keys = clip_keys(clips)
    used = {piece.clip for piece in kept.traced.pieces if piece.clip}
    other = sorted(name for name in used if keys.get(name) != kept.clips.get(name))
    if other:
        return f"the footage it was cut from has changed or is gone ({', '.join(other)})"
    new = sorted(set(keys) - set(kept.clips))
    return f"there is footage that it was not compared with ({', '.join(new)})" if new else None


def _write(done: _Worked, kept: Kept, options: Options, progress: Progress) -> tuple[Made, OnFilm]:
    from episode.review.film import film_picture

    day = without_films(done.made.result, kept.traced.cut, done.decided[0])
    film = kept.film or (kept.cut if kept.traced.how == "sound" else None)
    listen_to = Path(film) if film else None
    onto = on_film(day, kept.traced, listen_to, done.spotted, done.decided, options, progress)
    gone = frozenset(item.id for item in onto.moved.dropped)
    owed = {promise.id for promise in onto.new_promises}
    picture = film_picture(day, kept.traced, onto.moved)
    told = Film(
        name=kept.traced.cut,
        gone=gone,
        claims=onto.new_claims,
        promises=tuple(p for p in onto.result.promises if p.id in owed),
        found_claims=onto.found_claims,
        found_promises=keep(onto.result.model_copy(update={"promises": onto.found_promises}), onto.result.description),
        words=onto.written,
        chapters=onto.result.chapters,
        description=onto.result.description,
        wordings=onto.result.wordings,
        rests=onto.result.rests,
        picture=picture.inline,
    )
    made = replace(done.made, result=day.model_copy(update={"film": told}))
    made = write(made, progress, aside=True)
    write_cut(replace(made, result=onto.result), kept.traced, onto.moved, raw=day, picture=picture.whole)
    return made, onto


def without_films(day: DayResult, name: str, decisions: tuple[Decision, ...]) -> DayResult:
    """Decisions about the film ``name`` itself fit nothing on the raw clips, which is no fault of theirs."""
    lines = {f"decisions.jsonl, line {d.line}" for d in decisions if d.clip == name}
    return day.model_copy(update={"problems": tuple(p for p in day.problems if p.where not in lines)})


def _told(made: Made, problems: tuple[Problem, ...]) -> Made:
    return replace(made, result=made.result.model_copy(update={"problems": (*made.result.problems, *problems)}))


def _finds(day: DayResult) -> set[str]:
    return {m.id for m in day.moments if m.stance in {"found", "earlier", "unsure"}}
