"""Moments in other bounds: split, joined, moved, added by hand."""

from __future__ import annotations

import hashlib
from collections.abc import Collection

from episode.matching.grouping import mention_order
from episode.matching.kinship import Kinship
from episode.matching.naming import naming_second
from episode.matching.wall import NOWHEN, later
from episode.matching.working import Working, names_find, retold, working
from episode.models import Clip, Decision, Mention, Moment, Stance


def split(found: Working, at: float, shift: float, new_id: str, kin: Kinship) -> Working | None:
    """Part a moment at a second of its clip; ``None`` where that is not inside it.

    What was decided before stays with the part in which the thing is named. ``shift`` is how much later the words
    are timed today than when it was decided.

    Returns:
        The part that is new; ``found`` becomes the other.
    """
    moment = found.moment
    if not moment.start < at < moment.end:
        return None
    late = [m for m in moment.mentions if (m.start + m.end) / 2 >= at + shift]
    early = [m for m in moment.mentions if m not in late]
    named = naming_second(moment.mentions, moment.term) if moment.mentions else moment.start
    stays_late = bool(late) and any(m.start == named for m in late) and not any(m.start == named for m in early)
    parts = (
        _part(moment, moment.start, at, retold(early, moment.stance, kin)),
        _part(moment, at, moment.end, retold(late, moment.stance, kin)),
    )
    mine, other = (parts[1], parts[0]) if stays_late else parts
    if not moment.mentions and not stays_late:
        mine |= {"term": moment.term, "title": moment.title}
    part = working(moment.model_copy(update={**other, "id": new_id}))
    if found.rejected:
        part.rejected = True
        part.note("reject")
    part.note("split")
    found.anchors = []
    found.change(**mine)
    return part


def carve(found: Working, first: float, last: float, term: str | None, new_id: str, kin: Kinship) -> Working | None:
    """Take out of a moment what is named between two seconds, where it is today part of something else.

    ``None`` where the moment itself is what was judged.
    """
    moment = found.moment
    if term is None or (moment.term or "").casefold() == term.casefold():
        return None
    inside = [m for m in moment.mentions if first <= m.start <= last and m.term.casefold() == term.casefold()]
    rest = [m for m in moment.mentions if m not in inside]
    if not inside or not any(names_find(m) for m in rest):
        return None
    start, end = max(moment.start, inside[0].start), max(m.end for m in inside)
    fields = _part(moment, start, end, retold(inside, moment.stance, kin))
    part = working(moment.model_copy(update={**fields, "id": new_id}))
    found.change(**retold(rest, moment.stance, kin))
    return part


def join(found: Working, other: Working, kin: Kinship) -> None:
    """Make one moment of two; what was decided about ``found`` goes before what was about ``other``."""
    mine, theirs = found.moment, other.moment
    mentions: list[Mention] = sorted((*mine.mentions, *theirs.mentions), key=mention_order)
    start, end = min(mine.start, theirs.start), max(mine.end, theirs.end)
    told = retold(mentions, mine.stance, kin)
    if not mentions:
        told |= {"term": mine.term or theirs.term, "title": mine.title or theirs.title}
    at = mine.at if mine.start <= theirs.start else theirs.at
    found.anchors = list(dict.fromkeys((*found.anchors, *other.anchors)))
    found.terms |= other.terms
    found.name = found.name or other.name
    found.stance = found.stance or other.stance
    if not found.paired and other.paired:
        found.paired, found.row = True, other.row
    if not other.rejected:
        found.keep()
    found.actions = [*(a for a in other.actions if a not in {*found.actions, "reject", "accept"}), *found.actions]
    found.change(start=start, end=end, at=at, **told)
    other.gone = True


def move(found: Working, start: float | None, end: float | None, clip: Clip | None) -> str:
    """Give a moment other bounds within its clip; in words what stands against it."""
    moment = found.moment
    first = moment.start if start is None else start
    last = moment.end if end is None else end
    if clip is not None and clip.duration > 0:
        if first >= clip.duration:
            return f"the clip ends at {clip.duration:.1f} s"
        last = min(last, clip.duration)
    if first < 0 or last <= first:
        return "it would end before it begins"
    found.change(start=first, end=last, at=later(moment.at, first - moment.start))
    return ""


def added(decision: Decision, clip: Clip | None, taken: Collection[str]) -> Working:
    """A find that was shown and not spotted. Its id is made of the decision, so that it stays."""
    start, end = decision.start or 0.0, decision.end or 0.0
    if clip is not None and clip.duration > 0:
        end = min(end, clip.duration)
    told = decision.id or decision.model_dump_json(exclude={"line"})
    base = "a" + hashlib.sha256(told.encode("utf-8", errors="surrogatepass")).hexdigest()[:6]
    name, number = base, 1
    while name in taken:
        number += 1
        name = f"{base}-{number}"
    return working(
        Moment(
            id=name,
            clip=decision.clip or "",
            start=start,
            end=end,
            at=later(clip.start if clip else NOWHEN, start),
            term=None,
            stance=Stance.FOUND,
            still_at=(start + end) / 2,
        )
    )


def _part(whole: Moment, start: float, end: float, told: dict[str, object]) -> dict[str, object]:
    """The fields of a stretch of a moment."""
    still = whole.still_at
    inside = still is not None and start <= still <= end
    return {
        "start": start,
        "end": end,
        "at": later(whole.at, start - whole.start),
        "still_at": still if inside else min(start + 0.8, end),
        **told,
    }
