"""Stills of the day's moments, each named by what it shows, so that it is right on every later run."""

from __future__ import annotations

import contextlib
import hashlib
import json
from pathlib import Path

from episode.drafting.result import DayResult
from episode.errors import CannotWrite, EpisodeError
from episode.footage.fingerprint import sample_key
from episode.models import Clip, Moment, Problem
from episode.progress import Progress
from episode.storage import write_json

STILL_WIDTH = 640
FOLDER = "stills"
CHOSEN = "chosen.json"
"""Which second was found steadiest for which stretch that is shown; looked for again where it is lost."""


def with_stills(result: DayResult, out: Path, progress: Progress) -> DayResult:
    """A frame of each moment of a clip with pictures, the one a person chose or else the sharpest and steadiest.

    A frame taken before is not taken again. Those that nothing shows any more stay for ``tidy_stills``.

    Raises:
        CannotWrite: a still could not be written.
    """
    clips = {clip.name: clip for clip in result.clips}
    wanted = [moment for moment in result.moments if clips[moment.clip].has_video]
    known = _read_chosen(out)
    chosen: dict[str, float] = {}
    stills: dict[str, str] = {}
    shown_at: dict[str, float] = {}
    problems: list[Problem] = []
    progress.begin("stills", float(len(wanted)))
    for moment in wanted:
        clip = clips[moment.clip]
        try:
            at = _choose(moment, clip, _naming(moment, result), known, chosen)
            name = _name(clip, at)
            if _there(out / name, clip) or _take(clip, at, out / name):
                stills[moment.id], shown_at[moment.id] = name, at
        except CannotWrite:
            raise
        except OSError as error:  # the clip was taken away since it was heard
            what = f"no still could be taken: the clip cannot be read ({error.strerror or error})"
            problems.append(Problem(where=moment.clip, what=what, remedy="Put it back and run the command again."))
        except EpisodeError as error:
            problems.append(
                Problem(
                    where=f"{moment.clip} at {_naming(moment, result):.0f} s",
                    what=f"no still could be taken: {error.what}",
                    remedy=error.remedy,
                )
            )
        progress.advance(1.0)
    progress.end()
    if chosen != _read_chosen(out):
        write_json(out / FOLDER / CHOSEN, dict(sorted(chosen.items())))
    return _with(result, stills, shown_at, problems)


def with_known_stills(result: DayResult, out: Path) -> DayResult:
    """``result`` with those stills that were taken before; none is taken."""
    clips = {clip.name: clip for clip in result.clips}
    chosen = _read_chosen(out)
    stills: dict[str, str] = {}
    shown_at: dict[str, float] = {}
    for moment in result.moments:
        clip = clips[moment.clip]
        with contextlib.suppress(OSError):
            named = _naming(moment, result)
            at = named if "still" in moment.decided else chosen.get(_stretch(moment, clip, named))
            if clip.has_video and at is not None and _there(out / _name(clip, at), clip):
                stills[moment.id], shown_at[moment.id] = _name(clip, at), at
    return _with(result, stills, shown_at, [])


def tidy_stills(result: DayResult, out: Path) -> None:
    """Remove stills of earlier runs that nothing shows any more (only files that are named as stills are).

    To be called once the files that show them are written anew: until then the old ones need theirs.
    """
    kept = set(result.stills.values())
    for path in sorted((out / FOLDER).glob("*.jpg")):
        if f"{FOLDER}/{path.name}" not in kept and len(path.stem) == 16:
            with contextlib.suppress(OSError):
                path.unlink(missing_ok=True)


def _there(still: Path, clip: Clip) -> bool:
    """Whether the still was taken of the clip as it is: a file that was put in its place is younger than the still."""
    with contextlib.suppress(OSError):
        return still.stat().st_mtime_ns >= clip.path.stat().st_ctime_ns
    return False


def _with(result: DayResult, stills: dict[str, str], shown_at: dict[str, float], problems: list[Problem]) -> DayResult:
    moments = tuple(
        m.model_copy(update={"still": stills.get(m.id), "still_at": shown_at.get(m.id, m.still_at)})
        for m in result.moments
    )
    named = {m.id: result.named_at.get(m.id, m.still_at) for m in result.moments}
    told = (*result.problems, *problems)
    matched = result.matched.model_copy(update={"moments": moments})
    return result.model_copy(update={"stills": stills, "named_at": named, "matched": matched, "problems": told})


def _choose(moment: Moment, clip: Clip, named: float, known: dict[str, float], chosen: dict[str, float]) -> float:
    """The second that shows the moment; put into ``chosen`` where it was not the person who said it."""
    from episode.footage.steady import steadiest

    if "still" in moment.decided:
        return named
    key = _stretch(moment, clip, named)
    if key not in known:
        best = steadiest(clip, named, moment.end)
        known[key] = named if best is None else best
    chosen[key] = known[key]
    return chosen[key]


def _take(clip: Clip, at: float, target: Path) -> bool:
    from episode.footage.stills import still

    return still(clip, at, target, width=STILL_WIDTH)


def _naming(moment: Moment, result: DayResult) -> float:
    """The second that the still is looked for around, whether or not one was taken before."""
    at = moment.still_at if "still" in moment.decided else result.named_at.get(moment.id, moment.still_at)
    return moment.start if at is None else at


def _stretch(moment: Moment, clip: Clip, named: float) -> str:
    return _digest(clip, f"{named:.2f}\0{moment.end:.2f}")


def _name(clip: Clip, at: float) -> str:
    return f"{FOLDER}/{_digest(clip, f'{at:.2f}' + chr(0) + str(STILL_WIDTH))}.jpg"


def _digest(clip: Clip, what: str) -> str:
    shown = f"{clip.name}\0{sample_key(clip.path)}\0{what}"
    return hashlib.sha256(shown.encode("utf-8", errors="surrogateescape")).hexdigest()[:16]


def _read_chosen(out: Path) -> dict[str, float]:
    try:
        found = json.loads((out / FOLDER / CHOSEN).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    items = found.items() if isinstance(found, dict) else ()
    return {str(key): float(at) for key, at in items if isinstance(at, int | float) and 0 <= at < 1e7}
