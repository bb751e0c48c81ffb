"""The cut as its editor describes it: OpenTimelineIO and CMX3600 edit decision lists."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from pathlib import Path, PurePosixPath
from typing import Any, Literal
from urllib.parse import unquote, urlparse

from episode.cutting.pieces import CutPiece, Flag, Traced
from episode.errors import UnusableInput, UnusableMedia
from episode.footage.probe import probe
from episode.models import Clip, Problem

LARGEST_BYTES = 100_000_000

_EVENT = re.compile(
    r"^(\d+[ \t]+)(\S.*?)([ \t]+\S+[ \t]+(?:[CDK]|W\d+|K[BO]?)[ \t]+(?:\d+[ \t]+)?(?:\d\d[:;]\d\d[:;]\d\d[:;]\d\d[ \t]*){4})$",
    re.MULTILINE,
)
"""A line of CMX3600: number, reel, channels, kind of cut (and its length), source in and out, record in and out."""


def read_timeline(path: Path, clips: Sequence[Clip]) -> Traced:
    """Read ``path`` (``.otio`` or ``.edl``) and say which clip each stretch of the cut came from.

    Video decides where there is any: the topmost track that shows something; else the sound. Reels are matched
    to clips by the path of their media, else its file name, else its name without ending. A clip's
    time zero is its media's first frame, known from the timeline file or from the timecode that the clip carries.

    Raises:
        UnusableInput: the file cannot be read, or holds no timeline.
    """
    how: Literal["otio", "edl"] = "edl" if path.suffix.lower() == ".edl" else "otio"
    timeline = _opened(path, how)
    finder = _Finder(clips)
    problems: list[Problem] = []
    shown: list[CutPiece] = []
    track = _flat(timeline, path)
    for item in _clips_in(track):
        piece = _piece(item, track, finder, how, problems)
        if piece is not None and piece.cut_end - piece.cut_start > 1e-6:
            shown.append(piece)
    if not shown:
        raise UnusableInput(
            "there is no clip on its timeline", where=str(path), remedy="Export the finished sequence from the editor."
        )
    shown.sort(key=lambda p: p.cut_start)
    first = shown[0].cut_start if how == "edl" else 0.0  # an edit list counts from its own timecode, often 01:00:00:00
    whole = _without_gaps(shown, first)
    return Traced(
        cut=path.name, duration=whole[-1].cut_end, how=how, pieces=tuple(whole), problems=tuple(_once(problems))
    )


class _Finder:
    """Clips by what timeline files call them."""

    def __init__(self, clips: Iterable[Clip]) -> None:
        self._by: dict[str, list[Clip]] = {}
        self._zero: dict[str, float] = {}
        for clip in clips:
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


def _opened(path: Path, how: str) -> Any:
    import opentimelineio as otio

    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise UnusableInput("too large for a timeline", where=str(path), remedy="Export the timeline alone.")
        if how == "otio":
            text = path.read_text(encoding="utf-8-sig")
            _must_be_whole(json.loads(text))
            timeline = otio.adapters.read_from_string(text, "otio_json")
        else:
            text = _with_plain_reels(path.read_text(encoding="utf-8-sig", errors="replace"))
            timeline = otio.adapters.read_from_string(text, "cmx_3600", rate=_rate_of(text))
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


def _with_plain_reels(text: str) -> str:
    """Reels in one word each: some writers keep the spaces of a file name, which are the columns' own separators."""
    return _EVENT.sub(lambda m: m[1] + re.sub(r"\s+", "_", m[2]) + m[3], text)


def _rate_of(text: str) -> float:
    """Frames a second of an edit list, which does not say: the highest frame number in it decides."""
    highest = max((int(f) for f in re.findall(r"\b\d\d[:;]\d\d[:;]\d\d[:;](\d\d)\b", text)), default=0)
    if re.search(r"\b\d\d:\d\d:\d\d;\d\d\b", text):
        return 59.94 if highest >= 30 else 29.97
    return next(
        (float(rate) for rate in (24, 25, 30, 50, 60) if highest < rate and (rate != 24 or highest == 23)), 25.0
    )


def _flat(timeline: Any, path: Path) -> Any:
    import opentimelineio as otio

    tracks = list(timeline.video_tracks()) or list(timeline.audio_tracks())[:1] or list(timeline.tracks)
    tracks = [t for t in tracks if any(True for _ in t.find_clips())]
    if not tracks:
        raise UnusableInput(
            "there is no clip on its timeline", where=str(path), remedy="Export the finished sequence from the editor."
        )
    if len(tracks) == 1:
        return tracks[0]
    try:
        return otio.algorithms.flatten_stack([t.deepcopy() for t in tracks])
    except Exception as error:
        raise UnusableInput(
            f"its tracks cannot be laid over each other ({str(error)[:100]})",
            where=str(path),
            remedy="Flatten the sequence in the editor to one video track and export it again.",
        ) from error


def _clips_in(track: Any) -> list[Any]:
    return list(track.find_clips())


def _piece(item: Any, track: Any, finder: _Finder, how: str, problems: list[Problem]) -> CutPiece | None:
    begin, length = _place(item, track)
    if length <= 0:
        return None
    names = list(_names(item))
    clip = finder.find(names)
    speed = _speed(item)
    if clip is None or speed <= 0:
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
    at = _clip_time(item, clip, finder, how)
    if at + length * speed > clip.duration + 1.0 or at < -0.5:
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
        speed=round(speed, 6),
        confidence=1.0,
    )


def _place(item: Any, track: Any) -> tuple[float, float]:
    """Begin and length on the track, in seconds; nested sequences are seen through."""
    there = item.transformed_time_range(item.trimmed_range(), track)
    begin = there.start_time.to_seconds()
    if track.source_range is not None:
        begin -= track.source_range.start_time.to_seconds()
    return max(0.0, begin), there.duration.to_seconds()


def _names(item: Any) -> Iterable[str]:
    reference = item.media_reference
    url = getattr(reference, "target_url", None) or ""
    if url:
        parsed = urlparse(url)
        yield unquote(parsed.path) if parsed.scheme in ("file", "http", "https") else unquote(url)
    for name in (item.name, getattr(reference, "name", "")):
        if name:
            yield name
    reel = item.metadata.get("cmx_3600", {}).get("reel") if "cmx_3600" in item.metadata else None
    if reel:
        yield str(reel)


def _speed(item: Any) -> float:
    import opentimelineio as otio

    speed = 1.0
    for effect in item.effects:
        if isinstance(effect, otio.schema.FreezeFrame):
            return 0.0
        if isinstance(effect, otio.schema.LinearTimeWarp):
            speed *= float(effect.time_scalar)
    return speed


def _clip_time(item: Any, clip: Clip, finder: _Finder, how: str) -> float:
    begin = float(item.trimmed_range().start_time.to_seconds())
    known = item.media_reference.available_range if item.media_reference is not None else None
    if how == "otio" and known is not None:
        return begin - float(known.start_time.to_seconds())
    # Without it the source time counts from the clip's own timecode, or from zero.
    if (zero := finder.zero(clip)) and begin >= zero - 1e-6:
        return begin - zero
    return begin


def _timecode_seconds(text: str, fps: float | None) -> float:
    import opentimelineio as otio

    if not text or not fps:
        return 0.0
    try:
        rate = min((23.976, 24, 25, 29.97, 30, 50, 59.94, 60), key=lambda r: abs(r - fps))
        return float(otio.opentime.from_timecode(text, rate).to_seconds())
    except (ValueError, TypeError):
        return 0.0


def _without_gaps(pieces: list[CutPiece], first: float) -> list[CutPiece]:
    whole: list[CutPiece] = []
    at = 0.0
    for piece in pieces:
        begin, end = piece.cut_start - first, piece.cut_end - first
        if begin > at + 1e-4:
            whole.append(CutPiece(cut_start=round(at, 6), cut_end=round(begin, 6)))
        whole.append(piece.model_copy(update={"cut_start": round(begin, 6), "cut_end": round(end, 6)}))
        at = max(at, end)
    return whole


def _once(problems: list[Problem]) -> list[Problem]:
    return list(dict.fromkeys(problems))
