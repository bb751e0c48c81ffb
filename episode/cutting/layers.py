"""What a timeline shows, from beginning to end: tracks laid over each other, nested sequences opened."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

DEEPEST = 40
MOST = 200_000


@dataclass(frozen=True)
class Shown:
    """A stretch of the cut and the clip item seen in it. ``at`` is the item's own source time where it begins.

    ``speed`` is seconds of source in a second of the cut, effects of all nested sequences multiplied; 0 is a frozen
    picture, below 0 it plays backwards.
    """

    begin: float
    end: float
    item: Any
    at: float
    speed: float


def layers(timeline: Any) -> list[Shown]:
    """The stretches in order, none over another, seconds from the timeline's zero; what shows nothing is left out.

    Of several tracks the topmost that shows something is seen: video tracks where there are any, else the first
    with sound. A cross-fade counts from its middle on for what comes in.

    Raises:
        ValueError: nested too deep, or of absurdly many parts.
    """
    stack = timeline.tracks
    length = max((_seconds(t.trimmed_range().duration) for t in stack), default=0.0)
    return sorted(_stack(stack, 0.0, 0.0, length, 1.0, 0), key=lambda s: s.begin)


def _laid(item: Any, begin: float, skipped: float, length: float, speed: float, depth: int) -> list[Shown]:
    """``length`` seconds of ``item`` at ``begin`` of the cut, from ``skipped`` seconds into it.

    ``skipped`` and ``length`` are the cut's seconds at the item's place; ``speed`` is that of all around it.
    """
    import opentimelineio as otio

    if length <= 1e-6 or not getattr(item, "enabled", True):
        return []
    if depth > DEEPEST:
        raise ValueError("nested too deep")
    own = _speed(item)
    at = _seconds(item.trimmed_range().start_time) + skipped * speed * own
    if isinstance(item, otio.schema.Clip):
        return [Shown(begin, begin + length, item, at, speed * own)]
    if isinstance(item, otio.schema.Stack):
        return _stack(item, begin, at, length, speed * own, depth + 1)
    if isinstance(item, otio.schema.Track):
        return _track(item, begin, at, length, speed * own, depth + 1)
    return []


def _stack(stack: Any, begin: float, at: float, length: float, speed: float, depth: int) -> list[Shown]:
    import opentimelineio as otio

    children = [c for c in stack if getattr(c, "enabled", True)]
    tracks = [c for c in children if isinstance(c, otio.schema.Track)]
    seen = [t for t in tracks if t.kind == otio.schema.TrackKind.Video and _any_clip(t)]
    others = [c for c in children if not isinstance(c, otio.schema.Track)]
    if not seen and not others:
        seen = [t for t in tracks if _any_clip(t)][:1]
    found: list[Shown] = []
    for layer in (c for c in children if c in seen or c in others):
        if isinstance(layer, otio.schema.Track) and speed > 0:
            upper = _track(layer, begin, at + _seconds(layer.trimmed_range().start_time), length, speed, depth)
        else:
            upper = _laid(layer, begin, at / speed if speed else 0.0, length, speed, depth)
        found = [*_uncovered(found, upper), *upper]
        if len(found) > MOST:
            raise ValueError("too many parts")
    return found


def _track(track: Any, begin: float, at: float, length: float, speed: float, depth: int) -> list[Shown]:
    """``length`` seconds of the cut show ``track`` from its time ``at`` on."""
    if speed <= 0:
        # A sequence that stands still or runs backwards: its whole stretch is somebody's, and nobody's time.
        first = next(iter(track.find_clips()), None)
        return [Shown(begin, begin + length, first, 0.0, speed)] if first is not None else []
    found: list[Shown] = []
    until = at + length * speed
    for item, start, end, shift in _placed(track):
        left, right = max(start, at), min(end, until)
        if right - left <= 1e-6:
            continue
        # What a cross-fade adds at the beginning lies before the item's own beginning, or after it.
        found += _laid(
            item, begin + (left - at) / speed, (left - start + shift) / speed, (right - left) / speed, speed, depth
        )
        if len(found) > MOST:
            raise ValueError("too many parts")
    return found


def _placed(track: Any) -> Iterator[tuple[Any, float, float, float]]:
    """Each item with its begin and end on the track and how far into it that begin is; cross-fades cut in the middle."""
    import opentimelineio as otio

    at = 0.0
    placed: list[list[Any]] = []
    pending = 0.0
    for child in track:
        if isinstance(child, otio.schema.Transition):
            # Its middle, seen from the joint.
            pending = (_seconds(child.out_offset) - _seconds(child.in_offset)) / 2
            continue
        length = _seconds(child.trimmed_range().duration)
        shift = 0.0
        if (
            pending
            and placed
            and not isinstance(child, otio.schema.Gap)
            and not isinstance(placed[-1][0], otio.schema.Gap)
        ):
            shift = max(-(placed[-1][2] - placed[-1][1]), min(pending, length))
            placed[-1][2] += shift
        pending = 0.0
        placed.append([child, at + shift, at + length, shift])
        at += length
    for item, start, end, shift in placed:
        yield item, start, end, shift


def _uncovered(under: Iterable[Shown], upper: Iterable[Shown]) -> list[Shown]:
    """What of the lower layer is still seen."""
    left = list(under)
    for cover in upper:
        rest = []
        for piece in left:
            if piece.end <= cover.begin + 1e-9 or piece.begin >= cover.end - 1e-9:
                rest.append(piece)
                continue
            if piece.begin < cover.begin - 1e-6:
                rest.append(replace(piece, end=cover.begin))
            if piece.end > cover.end + 1e-6:
                rest.append(replace(piece, begin=cover.end, at=piece.at + (cover.end - piece.begin) * piece.speed))
        left = rest
    return left


def _any_clip(track: Any) -> bool:
    return any(True for _ in track.find_clips())


def _speed(item: Any) -> float:
    import opentimelineio as otio

    speed = 1.0
    for effect in item.effects:
        if isinstance(effect, otio.schema.FreezeFrame):
            return 0.0
        if isinstance(effect, otio.schema.LinearTimeWarp):
            speed *= float(effect.time_scalar)
    return speed


def _seconds(time: Any) -> float:
    return float(time.to_seconds()) if time is not None and time.rate > 0 else 0.0
