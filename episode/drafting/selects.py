"""The stretches of a day worth keeping: finds as they are shown, the opening and the end, without long silences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from episode.drafting.naming import is_unknown, name_of
from episode.drafting.trimming import BREATH_S, SILENCE_S, Speech
from episode.models import Clip, Moment, Seconds, Settings, Stance, Transcript, Value
from episode.once import once_for_the_same
from episode.speech.sentences import Sentence, sentences

HANDLE_S = 2.0
"""Kept before and after each find, for the cut (common practice, no source)."""
TEASE_S = 12.0
"""Talk that runs on to a find is kept so far back: the stoop, "hang on, what's this" (common practice, no source)."""
OPENING_S, CLOSING_S = 30.0, 20.0
"""Of the first and the last words of the day; an episode has a beginning and an end (common practice, no source)."""
SHORT_ASIDE_S = 12.0
"""Talk in general so short stays where it stands beside a find (common practice, no source)."""
OPENING, ROUND_UP, CLOSING = "opening", "round-up", "closing"
_KEPT = frozenset({Stance.FOUND, Stance.EARLIER, Stance.UNSURE})

Sort = Literal["opening", "find", "round-up", "closing"]


class Select(Value):
    """A stretch of one clip, in seconds of that clip, named after what it shows."""

    clip: str
    start: Seconds
    end: Seconds
    name: str
    moments: tuple[str, ...]
    sort: Sort = "find"


@once_for_the_same
def selects(
    moments: Sequence[Moment], transcript: Transcript, clips: Sequence[Clip], settings: Settings
) -> tuple[Select, ...]:
    """Finds, opening, round-up and closing in programme order, cut between words at the ends of sentences.

    A find begins with the talk that leads to it, and keeps the second that shows it best. Silences of more than
    two seconds are taken out of it, so that one find may be several selects of the same name. With
    ``selects_minutes`` set, the least sure finds are left out until what is left is no longer than that.
    """
    said: dict[str, list[Sentence]] = {}
    for sentence in sentences(transcript):
        said.setdefault(sentence.clip, []).append(sentence)
    spoken = {clip.name: Speech(said.get(clip.name, ())) for clip in clips}
    placed = _finds(moments, clips, settings, spoken)
    placed += _round_ups(moments, clips, spoken, placed)
    placed += _ends(clips, spoken, placed)
    order = {clip.name: number for number, clip in enumerate(clips)}
    placed.sort(key=lambda one: (order[one.clip.name], one.start, one.end, one.ids))
    found = [s for group in _grouped(placed, spoken) for s in group]
    return _within(found, {m.id: m for m in moments}, settings.selects_minutes * 60)


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


@dataclass(frozen=True)
class _Place:
    """A stretch to keep, before silences are taken out and handles are put on."""

    clip: Clip
    start: Seconds
    end: Seconds
    names: tuple[str, ...]
    ids: tuple[str, ...] = ()
    sort: Sort = "find"
    keep: tuple[Seconds, ...] = ()


def _finds(
    moments: Sequence[Moment], clips: Sequence[Clip], settings: Settings, spoken: dict[str, Speech]
) -> list[_Place]:
    found: list[_Place] = []
    for clip in clips:
        here = sorted((m for m in moments if m.clip == clip.name), key=lambda m: (m.start, m.id))
        speech, floor = spoken[clip.name], 0.0
        for moment in here:
            start, end = min(moment.start, clip.duration), min(moment.end, clip.duration)
            if moment.stance in _KEPT and end > start:
                start, end = speech.whole(start, end)
                start = speech.led_up_to(start, floor, TEASE_S)
                keep = () if moment.still_at is None else (moment.still_at,)
                found.append(_Place(clip, start, end, (label(moment, settings),), (moment.id,), keep=keep))
            elif found and found[-1].clip == clip and _beside(found[-1], moment):
                found[-1] = replace(found[-1], end=max(found[-1].end, speech.whole(start, end)[1]))
            floor = max(floor, end)  # talk that belongs to something else is no tease
    return found


def _beside(last: _Place, moment: Moment) -> bool:
    """A short aside that runs on from a find."""
    short = moment.end - moment.start <= SHORT_ASIDE_S
    return moment.stance is Stance.ASIDE and short and moment.start - last.end <= SILENCE_S


def _round_ups(
    moments: Sequence[Moment], clips: Sequence[Clip], spoken: dict[str, Speech], finds: Sequence[_Place]
) -> list[_Place]:
    """Recaps after the last find of the day."""
    order = {clip.name: number for number, clip in enumerate(clips)}
    last = max(((order[p.clip.name], p.end) for p in finds), default=(-1, 0.0))
    found = []
    for moment in moments:
        if moment.stance is Stance.RECAP and moment.clip in order and (order[moment.clip], moment.start) >= last:
            clip = clips[order[moment.clip]]
            start, end = spoken[clip.name].whole(moment.start, min(moment.end, clip.duration))
            if end > start:
                found.append(_Place(clip, start, end, (ROUND_UP,), (moment.id,), "round-up"))
    return found


def _ends(clips: Sequence[Clip], spoken: dict[str, Speech], placed: Sequence[_Place]) -> list[_Place]:
    """The first and the last sentences of the day, as far as nothing else keeps them."""
    talked = [clip for clip in clips if spoken[clip.name].sentences]
    if not talked:
        return []
    first, last = talked[0], talked[-1]
    said, closing = spoken[first.name].sentences, spoken[last.name].sentences
    opened = [s for s in said if s.end - said[0].start <= OPENING_S] or said[:1]
    closed = [s for s in closing if closing[-1].end - s.start <= CLOSING_S] or closing[-1:]
    begins = min((p.start for p in placed if p.clip == first), default=first.duration)
    ends = max((p.end for p in placed if p.clip == last), default=0.0)
    opened = [s for s in opened if s.end <= begins]
    closed = [s for s in closed if s.start >= ends and s not in opened]
    found = []
    if opened:
        found.append(_Place(first, opened[0].start, opened[-1].end, (OPENING,), sort="opening"))
    if closed:
        found.append(_Place(last, closed[0].start, closed[-1].end, (CLOSING,), sort="closing"))
    return found


def _grouped(placed: Sequence[_Place], spoken: dict[str, Speech]) -> list[list[Select]]:
    """Each place without its silences and with handles; those whose handles meet are one select."""
    groups: list[list[Select]] = []
    for place in placed:
        speech, longest = spoken[place.clip.name], place.clip.duration
        spans = speech.pieces(place.start, min(place.end, longest), next(iter(place.keep), None))
        group: list[Select] = []
        for number, span in enumerate(spans):
            before = HANDLE_S if number == 0 else BREATH_S
            after = HANDLE_S if number == len(spans) - 1 else BREATH_S
            start, end = speech.handled(span, before, after, longest)
            if end > start:
                made = Select(
                    clip=place.clip.name, start=round(start, 3), end=round(end, 3),
                    name=" + ".join(place.names), moments=place.ids, sort=place.sort,
                )  # fmt: skip
                group.append(made)
        for made in group:
            last = groups[-1][-1] if groups and groups[-1] else None
            if last is not None and last.clip == made.clip and made.start <= last.end:
                groups[-1][-1] = _joined(last, made)
            else:
                groups.append([made])
    return groups


def _joined(first: Select, second: Select) -> Select:
    names = [*first.name.split(" + "), *(n for n in second.name.split(" + ") if n not in first.name.split(" + "))]
    ids = (*first.moments, *(i for i in second.moments if i not in first.moments))
    sort = "find" if "find" in (first.sort, second.sort) else first.sort
    told = {"end": max(first.end, second.end), "name": " + ".join(names), "moments": ids, "sort": sort}
    return first.model_copy(update=told)


def _within(found: Sequence[Select], moments: dict[str, Moment], limit: Seconds) -> tuple[Select, ...]:
    """``found`` without the least sure finds, those not in the log first, until it is no longer than ``limit``."""
    kept = list(found)
    while limit and sum(s.end - s.start for s in kept) > limit:
        shown = {i for s in kept if s.sort == "find" for i in s.moments}
        if not shown:
            break
        least = min(shown, key=lambda i: (moments[i].find is not None, moments[i].confidence, i))
        kept = [s for s in kept if least not in s.moments]
    return tuple(kept)
