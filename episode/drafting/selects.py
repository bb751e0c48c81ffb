"""The stretches of a day worth keeping: finds as they are shown, with a little air around each."""

from __future__ import annotations

from collections.abc import Sequence

from episode.drafting.naming import is_unknown, name_of
from episode.models import Clip, Moment, Seconds, Settings, Stance, Value

HANDLE_S = 2.0
"""Kept before and after each moment, for the cut (common practice, no source)."""
_KEPT = frozenset({Stance.FOUND, Stance.EARLIER, Stance.UNSURE})


class Select(Value):
    """A stretch of one clip, in seconds of that clip, named after what it shows."""

    clip: str
    start: Seconds
    end: Seconds
    name: str
    moments: tuple[str, ...]


def selects(
    moments: Sequence[Moment], clips: Sequence[Clip], settings: Settings, *, handle: Seconds = HANDLE_S
) -> tuple[Select, ...]:
    """Moments with an object on screen, in programme order, with handles, those that overlap made one."""
    by_clip: dict[str, list[Moment]] = {clip.name: [] for clip in clips}
    for moment in moments:
        if moment.stance in _KEPT and moment.clip in by_clip:
            by_clip[moment.clip].append(moment)
    found: list[Select] = []
    for clip in clips:
        found += _of_clip(clip, by_clip[clip.name], settings, handle)
    return tuple(found)


def _of_clip(clip: Clip, moments: list[Moment], settings: Settings, handle: Seconds) -> list[Select]:
    found: list[Select] = []
    for moment in sorted(moments, key=lambda m: (m.start, m.id)):
        start = max(0.0, moment.start - handle)
        end = min(clip.duration, moment.end + handle)
        if end <= start:
            continue
        name = label(moment, settings)
        previous = found[-1] if found else None
        if previous and start <= previous.end:
            names = previous.name if name in previous.name.split(" + ") else f"{previous.name} + {name}"
            merged = {"end": max(end, previous.end), "name": names, "moments": (*previous.moments, moment.id)}
            found[-1] = previous.model_copy(update=merged)
        else:
            found.append(Select(clip=clip.name, start=start, end=end, name=name, moments=(moment.id,)))
    return found


def label(moment: Moment, settings: Settings) -> str:
    """What an editor sees: the find's number where it has one, its name, and how it stands if not found today."""
    name = name_of(moment, settings)
    if is_unknown(moment):
        name = f"unidentified: {name}?" if name else "unidentified"
    elif moment.stance is Stance.EARLIER:
        name = f"earlier: {name}" if name else "earlier find"
    elif moment.stance is not Stance.FOUND:
        name = f"{moment.stance.value}: {name}" if name else moment.stance.value
    return f"{moment.find} {name}" if moment.find else name
