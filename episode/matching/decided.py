"""What a person decided about moments, laid over what was computed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from episode.matching.kinship import Kinship
from episode.matching.meant import Meant
from episode.matching.named_by_hand import name_by_hand
from episode.matching.reshaping import added, carve, join, move, split
from episode.matching.working import Working, names_find, working
from episode.models import Action, Clip, Decision, LogEntry, Moment, Problem, Stance

_SPAN_S = 0.5

ABOUT_MOMENTS: frozenset[Action] = frozenset(
    {"accept", "reject", "rename", "stance", "pair", "split", "join", "move", "add", "still"}
)


@dataclass
class Decided:
    """``moments`` as decided; ``pairs`` from moment index to row index, ``None`` for no row."""

    moments: list[Moment]
    pairs: dict[int, int | None] = field(default_factory=dict)
    rejected: set[int] = field(default_factory=set)
    problems: list[Problem] = field(default_factory=list)


def apply_decisions(
    moments: Sequence[Moment],
    rows: Sequence[LogEntry],
    decisions: Sequence[Decision],
    kin: Kinship,
    clips: Sequence[Clip] = (),
) -> Decided:
    """Lay decisions over moments in the order they were made; of two about one thing the later wins.

    ``decisions`` are those in force. Each finds its moment by content among the moments as the decisions before
    it left them. Every mention stays in exactly one moment; ids of computed moments stay, a part that was split
    off or a find that was added gets one of its own. Decisions whose moment or find is no longer there, or that
    could mean more than one, are listed as problems; other rooms' are left alone.
    """
    if not any(decision.action in ABOUT_MOMENTS for decision in decisions):
        return Decided(list(moments))
    desk = _Desk([working(moment) for moment in moments], rows, kin, clips)
    for decision in decisions:
        if decision.action in ABOUT_MOMENTS:
            desk.take(decision)
    return desk.finished()


class _Desk:
    """The day's moments while one decision after the other is laid over them."""

    def __init__(self, all_: list[Working], rows: Sequence[LogEntry], kin: Kinship, clips: Sequence[Clip]) -> None:
        self._all, self._kin = all_, kin
        self._clips = {clip.name: clip for clip in clips}
        self._meant = Meant(all_, self._clips)
        self._rows: dict[str, int] = {}
        for index, entry in enumerate(rows):
            self._rows.setdefault(entry.find.strip().lower(), index)
        self._problems: list[Problem] = []

    def take(self, decision: Decision) -> None:
        """Do what was decided, or list why it does not apply."""
        fault = self._add(decision) if decision.action == "add" else self._change(decision)
        if fault:
            self._problems.append(stale(decision, fault))

    def finished(self) -> Decided:
        """The moments in programme order, with their pairs."""
        names = [*dict.fromkeys((*self._clips, *(w.moment.clip for w in self._all)))]
        place = {name: index for index, name in enumerate(names)}
        left = [w for w in self._all if not w.gone]
        left.sort(key=lambda w: (place[w.moment.clip], w.moment.start, w.moment.end))
        result = Decided([w.finished() for w in left], problems=self._problems)
        result.rejected = {index for index, w in enumerate(left) if w.rejected}
        result.pairs = {index: w.row for index, w in enumerate(left) if w.paired and not w.rejected}
        return result

    def _change(self, decision: Decision) -> str:
        found = self._meant.find(decision)
        if isinstance(found, str):
            return found
        fault = self._done(found, decision)
        if not fault:
            found.note(decision.action)
        return fault

    def _done(self, found: Working, decision: Decision) -> str:
        """Change the moment; in words what stands against it."""
        action = decision.action
        if action == "reject":
            self._reject(found, decision)
            return ""
        if action == "split":
            return self._split(found, decision)
        if action == "join":
            return self._join(found, decision)
        if action == "move":
            return self._moved(found, decision)
        if action == "still":
            return self._still(found, decision)
        fault = ""
        if action == "pair":
            fault = self._pair(found, decision)
        elif action == "stance":
            fault = _stance(found, decision)
        elif action == "rename":
            fault = name_by_hand(found, decision.value, self._kin)
        if not fault:
            found.keep()
        return fault

    def _pair(self, found: Working, decision: Decision) -> str:
        value = decision.value
        if value is None or value is False or value == "":
            found.paired, found.row = True, None
            return ""
        wanted = f"{value:g}" if isinstance(value, float) else str(value).strip().lower()
        row = self._rows.get(wanted)
        if row is None:
            return f"the log has no find {wanted}"
        found.paired, found.row = True, row
        return ""

    def _reject(self, found: Working, decision: Decision) -> None:
        """Set a moment aside with everything that was in it when it was judged, however it is grouped today."""
        if decision.start is None or decision.end is None:
            found.rejected = True
            return
        first, last = decision.start - _SPAN_S, decision.end + _SPAN_S
        part = carve(found, first, last, decision.term, self._free_id(found.moment.id), self._kin)
        if part is not None:
            part.rejected = True
            part.note("reject")
            self._keep_new(part)
            return
        shaped = bool(found.actions)
        found.rejected = True
        if shaped:
            return
        for other in self._meant.of_clip(found.moment.clip):
            within = first <= other.moment.start and other.moment.end <= last
            if within and other.is_find and not other.actions and any(map(names_find, other.moment.mentions)):
                other.rejected = True
                other.note("reject")

    def _split(self, found: Working, decision: Decision) -> str:
        if not isinstance(decision.value, float):
            return f"{decision.value!r} is no second"
        shift = 0.0
        if decision.start is not None:
            nearest = min(found.anchors, key=lambda a: abs(a - (decision.start or 0.0)))
            shift = nearest - decision.start if abs(nearest - decision.start) <= _SPAN_S else 0.0
        part = split(found, decision.value, shift, self._free_id(found.moment.id), self._kin)
        if part is None:
            return f"second {decision.value:g} is not inside it any more"
        self._keep_new(part)
        return ""

    def _join(self, found: Working, decision: Decision) -> str:
        if not isinstance(decision.value, float):
            return f"{decision.value!r} is no second"
        other = self._meant.beginning_at(found.moment.clip, decision.value, found)
        if isinstance(other, str):
            return other
        join(found, other, self._kin)
        self._meant.moved(found)
        return ""

    def _moved(self, found: Working, decision: Decision) -> str:
        clip = self._clips.get(found.moment.clip)
        fault = move(found, decision.new_start, decision.new_end, clip)
        if not fault:
            self._meant.moved(found)
        return fault

    def _still(self, found: Working, decision: Decision) -> str:
        if not isinstance(decision.value, float) or decision.value < 0:
            return f"{decision.value!r} is no second"
        clip = self._clips.get(found.moment.clip)
        if clip is not None and decision.value >= clip.duration:
            return f"the clip ends at {clip.duration:.1f} s"
        found.change(still_at=decision.value)
        return ""

    def _add(self, decision: Decision) -> str:
        clip = self._clips.get(decision.clip or "")
        if clip is None and not self._meant.has_clip(decision.clip):
            return "there is no such clip any more"
        if decision.start is None or decision.end is None or decision.end <= decision.start:
            return "it does not tell when it is shown"
        if clip is not None and decision.start >= clip.duration:
            return f"the clip ends at {clip.duration:.1f} s"
        found = self._spotted_since(decision)
        if found is None:
            found = added(decision, clip, {w.moment.id for w in self._all})
            self._keep_new(found)
        fault = name_by_hand(found, decision.value, self._kin) if decision.value else ""
        if decision.stance or not found.moment.mentions:
            fault = fault or _stance(found, decision.model_copy(update={"value": decision.stance or Stance.FOUND}))
        found.note("add")
        return fault

    def _spotted_since(self, decision: Decision) -> Working | None:
        """The same find, where a better recogniser or vocabulary spots it today."""
        row = self._kin.term(str(decision.value)) if decision.value else None
        if row is None or decision.start is None or decision.end is None:
            return None
        for found in self._meant.of_clip(decision.clip or ""):
            shared = min(found.moment.end, decision.end) - max(found.moment.start, decision.start)
            shorter = min(found.moment.end - found.moment.start, decision.end - decision.start)
            if found.is_find and found.moment.term == row.term and found.moment.mentions and shared >= 0.5 * shorter:
                return found
        return None

    def _keep_new(self, part: Working) -> None:
        self._all.append(part)
        self._meant.add(part)

    def _free_id(self, base: str) -> str:
        taken = {w.moment.id for w in self._all}
        number = 2
        while f"{base}-{number}" in taken:
            number += 1
        return f"{base}-{number}"


def _stance(found: Working, decision: Decision) -> str:
    try:
        found.stance = Stance(str(decision.value))
    except ValueError:
        return f"{decision.value!r} is no stance"
    return ""


def stale(decision: Decision, why: str) -> Problem:
    """The note that a decision does not apply, with its line and what it was about."""
    where = f"decisions.jsonl, line {decision.line}" if decision.line else "decisions.jsonl"
    about = ", ".join(
        part
        for part in (
            decision.term or "",
            decision.clip or "",
            f"{decision.start:.1f} s" if decision.start is not None else "",
            f"“{decision.quote}”" if decision.quote and not decision.term else "",
        )
        if part
    )
    return Problem(
        where=where,
        what=f"the decision “{decision.action}”{' about ' + about if about else ''} does not apply: {why}",
        remedy="Decide it again in the review, or leave it: it changes nothing.",
    )
