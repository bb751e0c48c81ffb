"""The door at the far end: a day's results become the files in ``out/``."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, replace
from enum import IntEnum
from pathlib import Path

from episode.cutting.pieces import Retimed, Traced
from episode.day.templates import NAMES
from episode.drafting.result import DayResult
from episode.errors import Exit
from episode.models import Mention
from episode.progress import Progress
from episode.results import cut_document, document, plain
from episode.showing import tidy_stills, with_stills
from episode.storage import write_bytes, write_json, write_text


class Step(IntEnum):
    """The steps in their order; each needs all before it."""

    HEAR = 1
    SPOT = 2
    MATCH = 3
    CHECK = 4
    DRAFT = 5


@dataclass(frozen=True)
class Made:
    """What a run gives: the day's results, the mentions before grouping, where the files go, and how far it went."""

    result: DayResult
    mentions: tuple[Mention, ...]
    out: Path
    step: Step

    @property
    def status(self) -> Exit:
        """``PART_FAILED`` where some input could not be used and the rest was kept."""
        failed = any(problem.level == "error" for problem in self.result.problems)
        return Exit.PART_FAILED if failed else Exit.DONE


def write(made: Made, progress: Progress, *, aside: bool = False) -> Made:
    """Write the files of ``made.step`` (of every step, when it is the last), each whole or not at all.

    Gives ``made`` back as it was written: with the stills that were taken, and with private places withheld
    from the transcript. With ``aside`` chapters and description go to ``raw/``: those beside the other files are
    a finished film's.

    Raises:
        CannotWrite: a file could not be written; those before it are whole, the rest as they were.
    """
    made = _withheld(made)
    whole = made.step == Step.DRAFT
    if whole:
        made = replace(made, result=with_stills(made.result, made.out, progress))
    for step in Step if whole else (made.step,):
        if step == Step.DRAFT:
            _draft(made, aside=aside)
        else:
            _WRITERS[step](made)
    if whole:
        tidy_stills(made.result, made.out)
    return made


def _withheld(made: Made) -> Made:
    from episode.speech.withheld import withhold

    settings = made.result.settings
    told: dict[str, object] = {"transcript": withhold(made.result.transcript, settings)}
    if made.result.respelt is not None:
        told["respelt"] = withhold(made.result.respelt, settings)
    return replace(made, result=made.result.model_copy(update=told))


CUT_FORMATS = (
    "chapters.json",
    "chapters.txt",
    "chapters.vtt",
    "chapters.ffmeta",
    "chapters.xml",
    "chapters.podcast.json",
    "captions.vtt",
    "captions.srt",
    *NAMES,
)
"""Files that are about a film where one is in force, and about the raw clips else."""


PICTURES = "pictures"
RAW = "raw"
"""Folder of the raw clips' chapters and description while those of a film stand in their place."""
CAPTIONS = "captions"
"""Folder of captions clip by clip, in each clip's own seconds."""
CAPTION_FORMATS = ("captions.vtt", "captions.srt")
CUT_LISTS = (
    *CAPTION_FORMATS,
    "moments.json",
    "claims.json",
    "promises.json",
    "transcript.json",
    "transcript.vtt",
    "cut.json",
    "cut.svg",
    "not-in-the-film.txt",
)


def write_cut(made: Made, traced: Traced, retimed: Retimed, *, raw: DayResult, picture: str) -> None:
    """Write what is on the finished film: chapters and description beside the others, the lists to ``cut/``.

    ``raw`` is the day on its clips; ``picture`` is where the film's pieces came from, as SVG.

    Raises:
        CannotWrite: as ``write``.
    """
    from episode.drafting.formats import formats
    from episode.drafting.notinfilm import not_in_the_film

    made = _withheld(made)
    known = formats()
    for name in CUT_FORMATS:
        write_text(made.out / name, known[name](made.result))
    inside = replace(made, out=made.out / "cut")
    for name in CAPTION_FORMATS:
        write_text(inside.out / name, known[name](made.result))
    for name in ("moments", "claims", "promises"):
        _json(inside, name)
    _hear(inside)
    write_json(inside.out / "cut.json", plain(cut_document(traced, retimed), made.result.settings))
    write_text(inside.out / "cut.svg", picture)
    write_text(inside.out / "not-in-the-film.txt", not_in_the_film(raw, retimed))


def clear_cut(out: Path) -> None:
    """Remove what ``write_cut`` wrote to ``cut/`` and the raw files put aside; nothing else that lies there.

    Raises:
        CannotWrite: a file could not be removed.
    """
    from episode.errors import CannotWrite

    for path in (*(out / "cut" / name for name in CUT_LISTS), *(out / RAW / name for name in CUT_FORMATS)):
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            raise CannotWrite(f"could not be removed ({error.strerror or error})", where=str(path)) from error
    with contextlib.suppress(OSError):
        (out / RAW).rmdir()


def _hear(made: Made) -> None:
    from episode.drafting.timeline import starts
    from episode.speech.subtitles import write_vtt

    _json(made, "transcript")
    write_text(made.out / "transcript.vtt", write_vtt(made.result.written, starts(made.result.clips)))


def _spot(made: Made) -> None:
    _json(made, "mentions")


def _match(made: Made) -> None:
    _json(made, "moments")


def _check(made: Made) -> None:
    from episode.drafting.formats import claims_csv, log_check_csv

    for name in ("claims", "promises", "cautions", "log_check"):
        _json(made, name)
    for table in (claims_csv, log_check_csv):
        write_text(made.out / table.NAME, table.render(made.result))


def _draft(made: Made, *, aside: bool) -> None:
    from episode.drafting.formats import render_all
    from episode.review.page import page

    for name, text in render_all(made.result).items():
        write_text(made.out / RAW / name if aside and name in CUT_FORMATS else made.out / name, text)
    write_text(made.out / "review.html", page(made.result))
    _captions(made)
    _pictures(made)


def _captions(made: Made) -> None:
    """Captions of each clip that has words, named after it with its own ending kept."""
    from episode.drafting.captioning import captions_by_clip, to_srt, to_vtt

    result = made.result
    told = captions_by_clip(result.written, result.clips, result.settings)
    for clip in result.clips:
        found = told[clip.name]
        for ending, written in (("vtt", to_vtt), ("srt", to_srt)):
            target = made.out / CAPTIONS / f"{clip.name}.{ending}"
            if found:
                write_text(target, written(found))
            else:
                with contextlib.suppress(OSError):
                    target.unlink(missing_ok=True)
    _gone(made.out / CAPTIONS, {clip.name for clip in result.clips})


def _gone(folder: Path, names: set[str]) -> None:
    """Remove the captions of clips that are no longer in the day."""
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        with contextlib.suppress(OSError):
            if name.endswith((".vtt", ".srt")) and name[:-4] not in names:
                path.unlink()
                path.parent.rmdir()


def _pictures(made: Made) -> None:
    """Pictures for the film and the description, where there is something to draw."""
    from episode.drafting.pictures import contact_sheet, period_chart, walk_sketch

    stills: dict[str, bytes] = {}
    for moment, name in made.result.stills.items():
        with contextlib.suppress(OSError):
            stills[moment] = (made.out / name).read_bytes()
    drawn = {
        contact_sheet.NAME: contact_sheet.contact_sheet(made.result, stills),
        period_chart.NAME: (period_chart.period_chart(made.result) or "").encode() or None,
        walk_sketch.NAME: (walk_sketch.walk_sketch(made.result) or "").encode() or None,
    }
    for name, picture in drawn.items():
        if picture is not None:
            write_bytes(made.out / PICTURES / name, picture)
        else:
            with contextlib.suppress(OSError):
                (made.out / PICTURES / name).unlink(missing_ok=True)


_WRITERS = {Step.HEAR: _hear, Step.SPOT: _spot, Step.MATCH: _match, Step.CHECK: _check}


def _json(made: Made, name: str) -> None:
    content = document(name, made.result, made.mentions)
    write_json(made.out / f"{name}.json", plain(content, made.result.settings))
