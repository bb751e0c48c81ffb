"""The cut as its editor describes it: OpenTimelineIO and CMX3600 edit decision lists."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path, PurePosixPath
from typing import Any, Literal
from urllib.parse import unquote, urlparse

from episode.cutting.editlist import plain_list, rate_of
from episode.cutting.layers import Shown, layers
from episode.cutting.pieces import CutPiece, Flag, Traced
from episode.errors import UnusableInput, UnusableMedia
from episode.footage.probe import probe
from episode.models import Clip, Problem

LARGEST_BYTES = 100_000_000
BLACK = frozenset({"bl", "blk", "black"})
"""Reels that are no tape but black."""
REEL = 8
"""Letters that a CMX3600 reel holds; longer names are cut there."""


def read_timeline(path: Path, clips: Sequence[Clip]) -> Traced:
    """Read ``path`` (``.otio`` or ``.edl``) and say which clip each stretch of the cut came from.

    Video decides where there is any: the topmost track that shows something; else the sound. Reels are matched
    to clips by the path of their media, else its file name, else its name without ending. A clip's
    time zero is its media's first frame, known from the timeline file or from the timecode that the clip carries.

    Raises:
        UnusableInput: the file cannot be read, or holds no timeline.
    """
    how: Literal["otio", "edl"] = "edl" if path.suffix.lower() == ".edl" else "otio"
    timeline = _opened(path, how, clips)
    finder = _Finder(clips)
    problems: list[Problem] = []
    try:
        laid = layers(timeline)
    except Exception as error:  # the library raises whatever it meets in a file that is not as it should be
        raise UnusableInput(
            f"its tracks cannot be laid over each other ({str(error)[:100]})",
            where=str(path),
            remedy="Flatten the sequence in the editor to one video track and export it again.",
        ) from error
    # An edit list counts from its own timecode, often 01:00:00:00.
    first = laid[0].begin if laid and how == "edl" else 0.0
    shown = [_piece(one, first, finder, how, problems) for one in laid if one.end - one.begin > 1e-6]
    if not shown:
        raise UnusableInput(
            "there is no clip on its timeline", where=str(path), remedy="Export the finished sequence from the editor."
        )
    shown.sort(key=lambda p: p.cut_start)
    whole = _without_gaps(shown)
    return Traced(
        cut=path.name, duration=whole[-1].cut_end, how=how, pieces=tuple(whole), problems=tuple(_once(problems))
    )


class _Finder:
    """Clips by what timeline files call them."""

    def __init__(self, clips: Iterable[Clip]) -> None:
        self._by: dict[str, list[Clip]] = {}
        self._zero: dict[str, float] = {}
        self._clips = list(clips)
        for clip in self._clips:
            path = PurePosixPath(clip.name)
            for key in {clip.name, path.name, path.stem}:
                self._by.setdefault(key.casefold(), []).append(clip)

    def find(self, names: Iterable[str]) -> Clip | None:
        for name in names:
            path = PurePosixPath(name.replace("\\", "/"))
            parts = path.parts
            # The longest end of the path that is a clip's name, then the bare name, then the name without ending.
            keys = ["/".join(parts[k:]) for k in range(len(parts))] + [path.stem]
            for key in keys:
                found = self._by.get(key.casefold(), [])
                if len(found) == 1:
                    return found[0]
            reel = _letters(name)
            if len(name) >= REEL - 2 and len(name) <= REEL:
                # A reel cut short, without the marks that a reel cannot hold: only if one clip alone begins so.
                begun = [clip for clip in self._clips if _letters(PurePosixPath(clip.name).stem).startswith(reel)]
                if len(begun) == 1 and len(reel) >= REEL - 2:
                    return begun[0]
        return None

    def zero(self, clip: Clip) -> float:
        """Seconds that the clip's own timecode begins at; 0 where it carries none."""
        if clip.name not in self._zero:
            try:
                tags = probe(clip.path, clip.name).tags
            except UnusableMedia:
                tags = {}
            self._zero[clip.name] = _timecode_seconds(tags.get("timecode", ""), clip.fps)
        return self._zero[clip.name]


def _letters(name: str) -> str:
    return "".join(c for c in name.casefold() if c.isalnum())


def _opened(path: Path, how: str, clips: Sequence[Clip]) -> Any:
    import opentimelineio as otio

    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise UnusableInput("too large for a timeline", where=str(path), remedy="Export the timeline alone.")
        if how == "otio":
            text = path.read_text(encoding="utf-8-sig")
            _must_be_whole(json.loads(text))
            timeline = otio.adapters.read_from_string(text, "otio_json")
        else:
            text = plain_list(path.read_text(encoding="utf-8-sig", errors="replace"))
            timeline = otio.adapters.read_from_string(text, "cmx_3600", rate=rate_of(text, clips))
            for track in getattr(timeline, "tracks", ()):
                track.source_range = None  # the record's timecode, which its parts do not count by
    except OSError as error:
        raise UnusableInput(
            f"cannot be read ({error.strerror or error})", where=str(path), remedy="Check the path."
        ) from error
    except UnusableInput:
        raise
    except Exception as error:  # the adapters raise whatever they meet
        reason = str(error).strip().splitlines()[0][:200] if str(error).strip() else type(error).__name__
        raise UnusableInput(
            f"not a timeline that can be read ({reason})",
            where=str(path),
            remedy="Export it again from the editor as OpenTimelineIO (.otio) or CMX3600 (.edl).",
        ) from error
    if isinstance(timeline, otio.schema.SerializableCollection):
        timeline = next((t for t in timeline if isinstance(t, otio.schema.Timeline)), None)
    if not isinstance(timeline, otio.schema.Timeline):
        raise UnusableInput(
            "there is no timeline in it", where=str(path), remedy="Export the finished sequence from the editor."
        )
    return timeline


def _must_be_whole(value: Any, depth: int = 0) -> None:
    """Refuse what the library crashes on rather than complains of: compositions with nothing where a part must be.

    Raises:
        ValueError: not OpenTimelineIO, nested absurdly deep, or with a part missing.
    """
    if depth > 200:
        raise ValueError("nested too deep")
    if isinstance(value, list):
        for one in value:
            _must_be_whole(one, depth + 1)
    if not isinstance(value, dict):
        if depth == 0:
            raise ValueError("no OpenTimelineIO object")
        return
    schema = str(value.get("OTIO_SCHEMA", ""))
    if depth == 0 and not schema:
        raise ValueError("no OpenTimelineIO object")
    if schema.startswith("Timeline.") and not _is_part(value.get("tracks")):
        raise ValueError("a timeline without tracks")
    if schema.startswith(("Stack.", "Track.", "Sequence.", "SerializableCollection.")):
        children = value.get("children", [])
        if not isinstance(children, list) or not all(_is_part(child) for child in children):
            raise ValueError(f"a {schema.partition('.')[0].lower()} with a part that is none")
    for one in value.values():
        _must_be_whole(one, depth + 1)


def _is_part(value: Any) -> bool:
    return isinstance(value, dict) and isinstance(value.get("OTIO_SCHEMA"), str)


def _piece(one: Shown, first: float, finder: _Finder, how: str, problems: list[Problem]) -> CutPiece:
    begin, length = one.begin - first, one.end - one.begin
    names = list(_names(one.item, how))
    if how == "edl" and names and names[0].casefold() in BLACK:
        return CutPiece(cut_start=begin, cut_end=begin + length)
    clip = finder.find(names)
    if clip is None or one.speed <= 0:
        shown = names[0] if names else "a clip without a name"
        what = "is no clip of the day" if clip is None else "is frozen or plays backwards"
        problems.append(
            Problem(
                where=f"{shown[:120]} at {int(begin) // 60}:{int(begin) % 60:02d} of the cut",
                what=f"{what}; taken as from nowhere",
                remedy="Nothing to do for music, titles and pictures; else name the media as in footage/.",
                level="note",
            )
        )
        flags: tuple[Flag, ...] = ("unmatched reel",) if clip is None else ()
        return CutPiece(cut_start=begin, cut_end=begin + length, flags=flags)
    at = _clip_time(one, clip, finder, how)
    if at + length * one.speed > clip.duration + 1.0 or at < -0.5:
        problems.append(
            Problem(
                where=f"{clip.name} at {int(begin) // 60}:{int(begin) % 60:02d} of the cut",
                what="its timecode lies outside the clip, which carries none of its own; taken as from nowhere",
                remedy="Export the timeline as .otio, or trace the finished film by its sound instead.",
            )
        )
        return CutPiece(cut_start=begin, cut_end=begin + length, flags=("unmatched reel",))
    return CutPiece(
        cut_start=begin,
        cut_end=begin + length,
        clip=clip.name,
        clip_start=round(max(0.0, at), 6),
        speed=round(one.speed, 6),
        confidence=1.0,
    )


def _names(item: Any, how: str) -> Iterator[str]:
    """What the file calls it, the surest first; in an edit list the reel stands for a name that is missing."""
    reference = item.media_reference
    url = getattr(reference, "target_url", None) or ""
    if url:
        parsed = urlparse(url)
        yield unquote(parsed.path) if parsed.scheme in ("file", "http", "https") else unquote(url)
    for name in (item.name, getattr(reference, "name", "")):
        if name and not (how == "edl" and name.isdigit()):  # the event's number
            yield name
    told = item.metadata.get("cmx_3600", {}) if "cmx_3600" in item.metadata else {}
    if told.get("reel"):
        yield str(told["reel"])


def _clip_time(one: Shown, clip: Clip, finder: _Finder, how: str) -> float:
    known = one.item.media_reference.available_range if one.item.media_reference is not None else None
    if how == "otio" and known is not None:
        return one.at - float(known.start_time.to_seconds())
    # Without it the source time counts from the clip's own timecode, or from zero.
    if (zero := finder.zero(clip)) and one.at >= zero - 1e-6:
        return one.at - zero
    return one.at


def _timecode_seconds(text: str, fps: float | None) -> float:
    import opentimelineio as otio

    if not text or not fps:
        return 0.0
    try:
        dropped = (24000 / 1001, 30000 / 1001, 60000 / 1001)
        rate = min((*dropped, 24, 25, 30, 50, 60), key=lambda r: abs(r - fps))
        return float(otio.opentime.from_timecode(text, rate).to_seconds())
    except (ValueError, TypeError):
        return 0.0


def _without_gaps(pieces: list[CutPiece]) -> list[CutPiece]:
    whole: list[CutPiece] = []
    at = 0.0
    for piece in pieces:
        begin, end = piece.cut_start, piece.cut_end
        if begin > at + 1e-4:
            whole.append(CutPiece(cut_start=round(at, 6), cut_end=round(begin, 6)))
        whole.append(piece.model_copy(update={"cut_start": round(begin, 6), "cut_end": round(end, 6)}))
        at = max(at, end)
    return whole


def _once(problems: list[Problem]) -> list[Problem]:
    return list(dict.fromkeys(problems))
