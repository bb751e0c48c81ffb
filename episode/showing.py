"""Stills of the day's moments, each named by what it shows, so that it is right on every later run."""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from episode.crew import Task, in_order, processors
from episode.drafting.result import DayResult
from episode.errors import EpisodeError
from episode.footage.fingerprint import sample_key
from episode.footage.sizes import has_frames
from episode.models import Clip, Moment, Problem
from episode.progress import Progress
from episode.storage import write_bytes, write_json

STILL_WIDTH = 640
FOLDER = "stills"
CHOSEN = "chosen.json"
"""Which second was found steadiest for which stretch that is shown; looked for again where it is lost."""
METHOD = "keyframes a sixth apart, else frames that others need"
"""Of how that second is found: seconds found in another way are not taken for this one's."""
MOST_HANDS = 4
MOST_AT_ONCE, PIXELS_AT_ONCE = 8, 8_300_000
"""How many pictures one process decodes at once: to begin it costs as much as a small picture, and the decoder of a
large one (3840 by 2160 above) takes 150 MiB."""
SMALL_PIXELS = 300_000
"""Pictures up to here (640 by 360) are decoded once more for the still: that costs less than to make a still of every
keyframe that is looked at, as is done with larger ones."""


@dataclass
class _Shown:
    """One moment on its way to a still: ``at`` is the second that shows it, once that is known.

    ``picture`` is the still, where finding the second gave it too.
    """

    moment: Moment
    clip: Clip
    named: float
    key: str = ""
    at: float | None = None
    picture: bytes | None = None
    name: str | None = None
    failed: Exception | None = None


def with_stills(result: DayResult, out: Path, progress: Progress) -> DayResult:
    """A frame of each moment of a clip with pictures, the one a person chose or else the sharpest and steadiest.

    A frame taken before is not taken again. Those that nothing shows any more stay for ``tidy_stills``.

    Raises:
        CannotWrite: a still could not be written.
    """
    clips = {clip.name: clip for clip in result.clips}
    wanted = [
        _Shown(moment, clips[moment.clip], _naming(moment, result))
        for moment in result.moments
        if has_frames(clips[moment.clip])
    ]
    known = _read_chosen(out)
    progress.begin("stills", float(len(wanted)))
    for shown in wanted:
        _look_up(shown, known, out)
    missing = [shown for shown in wanted if shown.name is None and shown.failed is None]
    progress.advance(float(len(wanted) - len(missing)))
    tasks = (Task(partial(_show, group, out)) for group in _groups(missing))
    for task in in_order(tasks, hands=_hands(missing)):
        progress.advance(float(task.result()))
    progress.end()
    chosen = {shown.key: shown.at for shown in wanted if shown.key and shown.at is not None}
    if chosen != known:
        write_json(out / FOLDER / CHOSEN, dict(sorted(chosen.items())))
    taken = [shown for shown in wanted if shown.name is not None]
    stills = {shown.moment.id: shown.name for shown in taken if shown.name is not None}
    shown_at = {shown.moment.id: shown.at for shown in taken if shown.at is not None}
    return _with(result, stills, shown_at, [_problem(shown) for shown in wanted if shown.failed is not None])


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
            if has_frames(clip) and at is not None and _there(out / _name(clip, at), clip):
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


def _look_up(shown: _Shown, known: dict[str, float], out: Path) -> None:
    """What earlier runs left of it: the second, and the still itself."""
    try:
        if "still" in shown.moment.decided:
            shown.at = shown.named
        else:
            shown.key = _stretch(shown.moment, shown.clip, shown.named)
            shown.at = known.get(shown.key)
        if shown.at is not None and _there(out / _name(shown.clip, shown.at), shown.clip):
            shown.name = _name(shown.clip, shown.at)
    except OSError as error:
        shown.failed = error


def _groups(missing: Iterable[_Shown]) -> Iterable[list[_Shown]]:
    """Moments of one clip that are decoded together."""
    by_clip: dict[str, list[_Shown]] = defaultdict(list)
    for shown in missing:
        by_clip[shown.clip.name].append(shown)
    for those in by_clip.values():
        size = max(1, min(MOST_AT_ONCE, PIXELS_AT_ONCE // _pixels(those[0].clip)))
        yield from (those[at : at + size] for at in range(0, len(those), size))


def _hands(missing: Iterable[_Shown]) -> int:
    """How many processes decode beside each other: pictures of 7680 by 4320 go one after the other."""
    largest = max((_pixels(shown.clip) for shown in missing), default=1)
    return max(1, min(MOST_HANDS, processors(), MOST_HANDS * PIXELS_AT_ONCE // largest))


def _pixels(clip: Clip) -> int:
    return (clip.width or 0) * (clip.height or 0) or PIXELS_AT_ONCE


def _show(group: list[_Shown], out: Path, reached: Callable[[float], None]) -> int:
    """Find the second of each where that is not known, and take its still. Gives how many they were."""
    from episode.footage.steady import steadiest
    from episode.footage.stills import stills

    clip = group[0].clip
    wanted = partial(reached, 0.0)
    try:
        unknown = [shown for shown in group if shown.at is None]
        naming = [(shown.named, shown.moment.end) for shown in unknown]
        width = STILL_WIDTH if _pixels(clip) > SMALL_PIXELS else None
        for shown, best in zip(unknown, steadiest(clip, naming, width=width, wanted=wanted), strict=True):
            shown.at, shown.picture = (shown.named, None) if best is None else best
        # Several moments may be shown by the same frame.
        missing = {_name(clip, shown.at): shown for shown in group if shown.at is not None}
        missing = {name: shown for name, shown in missing.items() if not _there(out / name, clip)}
        for name, shown in missing.items():
            if shown.picture is not None:
                write_bytes(out / name, shown.picture)
        asked = [
            (shown.at, out / name) for name, shown in missing.items() if shown.at is not None and not shown.picture
        ]
        errors = stills(clip, asked, width=STILL_WIDTH, wanted=wanted)
        failed = {target: error for (_, target), error in zip(asked, errors, strict=True)}
        for shown in group:
            shown.picture = None
            if shown.at is not None:
                name = _name(clip, shown.at)
                shown.failed = failed.get(out / name)
                shown.name = None if shown.failed else name
    except OSError as error:
        for shown in group:
            shown.failed = error
    return len(group)


def _problem(shown: _Shown) -> Problem:
    error = shown.failed
    if isinstance(error, EpisodeError):
        return Problem(
            where=f"{shown.moment.clip} at {shown.named:.0f} s",
            what=f"no still could be taken: {error.what}",
            remedy=error.remedy,
        )
    # the clip was taken away since it was heard
    reason = error.strerror or error if isinstance(error, OSError) else error
    return Problem(
        where=shown.moment.clip,
        what=f"no still could be taken: the clip cannot be read ({reason})",
        remedy="Put it back and run the command again.",
    )


def _naming(moment: Moment, result: DayResult) -> float:
    """The second that the still is looked for around, whether or not one was taken before."""
    at = moment.still_at if "still" in moment.decided else result.named_at.get(moment.id, moment.still_at)
    return moment.start if at is None else at


def _stretch(moment: Moment, clip: Clip, named: float) -> str:
    return _digest(clip, f"{named:.2f}\0{moment.end:.2f}\0{METHOD}")


def _name(clip: Clip, at: float) -> str:
    return f"{FOLDER}/{_digest(clip, f'{at:.3f}' + chr(0) + str(STILL_WIDTH))}.jpg"


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
