"""What a person decided about chapters, laid over those that were drafted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from episode.day.same_words import ALIKE, SURELY_ALIKE, most_alike
from episode.drafting.chapters import INTRO
from episode.drafting.host_rules import host_rules
from episode.drafting.outgoing import outgoing
from episode.drafting.timeline import starts, total
from episode.models import Action, Chapter, Clip, Decision, Moment, Problem, Seconds, Settings

ABOUT_CHAPTERS: frozenset[Action] = frozenset({"title", "begin", "drop"})
NEAR_S = 5.0
"""A decision still means a chapter whose start moved by this much, where its title or term agrees."""
SAME_PLACE_S = 1.0
_FAR_S = 90.0
"""The same title this far away may still be the chapter meant, if no other one is."""


def decided_chapters(
    found: Sequence[Chapter],
    decisions: Sequence[Decision],
    moments: Sequence[Moment],
    clips: Sequence[Clip],
    settings: Settings,
) -> tuple[tuple[Chapter, ...], tuple[Problem, ...]]:
    """The chapters as a person wants them, and what does not apply any more or what hosts would refuse.

    ``decisions`` are those in force, applied in their order. A chapter is known by the clip and second where it
    starts, its first moment's term and its title, old or new. The first chapter always starts at 0: where a
    person lets it begin later, an opening stands before it; where they drop it, the second takes its place.
    """
    wanted = [decision for decision in decisions if decision.action in ABOUT_CHAPTERS]
    if not wanted:
        return tuple(found), ()
    desk = _Desk(found, moments, clips, settings)
    for decision in wanted:
        desk.take(decision)
    return desk.finished()


@dataclass(eq=False)
class _Working:
    start: Seconds
    title: str
    moments: tuple[str, ...]
    starts: list[Seconds]
    titles: set[str]
    terms: set[str]
    actions: list[str] = field(default_factory=list)

    def note(self, action: str) -> None:
        self.actions = [*(a for a in self.actions if a != action), action]


def titled_by_hand(film: Sequence[Chapter], raw: Sequence[Chapter]) -> tuple[Chapter, ...]:
    """A film's chapters under the titles that a person gave to the raw clips' chapters of the same finds."""
    titles = {m: chapter.title for chapter in raw if "title" in chapter.decided for m in chapter.moments}
    found = []
    for chapter in film:
        given = {titles.get(m) for m in chapter.moments}
        title = given.pop() if len(given) == 1 else None
        found.append(chapter.model_copy(update={"title": title, "decided": ("title",)}) if title else chapter)
    return tuple(found)


class _Desk:
    """The chapters while one decision after the other is laid over them."""

    def __init__(
        self, found: Sequence[Chapter], moments: Sequence[Moment], clips: Sequence[Clip], settings: Settings
    ) -> None:
        self._begin, self._whole, self._settings = starts(clips), total(clips), settings
        self._lengths = {clip.name: clip.duration for clip in clips}
        self._moments = {moment.id: moment for moment in moments}
        self._all = [
            _Working(c.start, c.title, c.moments, [c.start], {c.title.casefold()}, self._terms(c)) for c in found
        ]
        self._drafted_short = set(self._short())
        self._problems: list[Problem] = []

    def take(self, decision: Decision) -> None:
        """Do what was decided, or list why it does not apply."""
        found = self._find(decision)
        fault = found if isinstance(found, str) else self._done(found, decision)
        if fault:
            self._problems.append(_stale(decision, fault))

    def finished(self) -> tuple[tuple[Chapter, ...], tuple[Problem, ...]]:
        """The chapters, each ending where the next begins."""
        ends = [*(c.start for c in self._all[1:]), self._whole]
        made = tuple(
            Chapter(start=c.start, end=end, title=c.title, moments=c.moments, decided=tuple(c.actions))
            for c, end in zip(self._all, ends, strict=True)
        )
        return made, (*self._problems, *self._refused(made))

    def _terms(self, chapter: Chapter) -> set[str]:
        first = self._moments.get(chapter.moments[0]) if chapter.moments else None
        return {name.casefold() for name in (first.term, first.was) if name} if first else set()

    def _find(self, decision: Decision) -> _Working | str:
        if decision.clip not in self._begin or decision.start is None:
            return "there is no such clip any more"
        at = self._begin[decision.clip] + min(decision.start, self._lengths[decision.clip])
        off = [(min(abs(start - at) for start in c.starts), index) for index, c in enumerate(self._all)]
        near = [(distance, i) for distance, i in off if distance <= NEAR_S and self._agrees(i, distance, decision)]
        if near:
            titled = ((not self._titled(i, decision, SURELY_ALIKE), distance, i) for distance, i in near)
            return self._all[min(titled)[2]]
        alike = [i for distance, i in off if distance <= _FAR_S and self._titled(i, decision, SURELY_ALIKE)]
        if len(alike) == 1:
            return self._all[alike[0]]
        return "it could be more than one chapter now" if alike else "there is no such chapter any more"

    def _agrees(self, index: int, distance: float, decision: Decision) -> bool:
        chapter = self._all[index]
        if decision.term and decision.term.casefold() in chapter.terms:
            return True
        if self._titled(index, decision, ALIKE):
            return True
        return distance <= SAME_PLACE_S or (distance <= NEAR_S and not decision.term and not decision.title)

    def _titled(self, index: int, decision: Decision, least: float) -> bool:
        return bool(decision.title) and most_alike(decision.title or "", self._all[index].titles, least) >= least

    def _done(self, chapter: _Working, decision: Decision) -> str:
        index = self._all.index(chapter)
        if decision.action == "drop":
            return self._drop(index)
        fault = self._begin_at(index, decision) if decision.action == "begin" else self._title(chapter, decision)
        if not fault:
            chapter.note(decision.action)
        return fault

    def _title(self, chapter: _Working, decision: Decision) -> str:
        title = outgoing(str(decision.value or "").replace("<", " ").replace(">", " "), self._settings)
        if not title:
            return "the title is empty"
        chapter.title = title
        chapter.titles.add(title.casefold())
        return ""

    def _begin_at(self, index: int, decision: Decision) -> str:
        if not isinstance(decision.value, float) or decision.clip not in self._begin:
            return f"{decision.value!r} is no second"
        if not 0 <= decision.value < self._lengths[decision.clip]:
            return f"the clip ends at {self._lengths[decision.clip]:.1f} s"
        at = round(self._begin[decision.clip] + decision.value, 3)
        chapter = self._all[index]
        if index + 1 < len(self._all) and at >= self._all[index + 1].start:
            return "it would begin after the next chapter"
        if index and at <= self._all[index - 1].start:
            return "it would begin before the chapter before it"
        if index == 0 and at > 0:
            title = INTRO if chapter.title != INTRO else "Before we begin"
            self._all.insert(0, _Working(0.0, title, (), [0.0], {title.casefold()}, set()))
            index = 1
        chapter.start = at
        chapter.starts.append(at)
        if index:
            self._share_out(self._all[index - 1], chapter)
        return ""

    def _share_out(self, before: _Working, after: _Working) -> None:
        """Give each moment of two neighbours to the one in which most of it lies."""
        both = (*before.moments, *after.moments)
        late = {name for name in both if self._middle(name) >= after.start}
        before.moments = tuple(name for name in both if name not in late)
        after.moments = tuple(name for name in both if name in late)

    def _middle(self, name: str) -> float:
        moment = self._moments.get(name)
        if moment is None or moment.clip not in self._begin:
            return 0.0
        return self._begin[moment.clip] + (moment.start + moment.end) / 2

    def _drop(self, index: int) -> str:
        if len(self._all) == 1:
            return "it is the only chapter"
        gone = self._all.pop(index)
        heir = self._all[max(0, index - 1)]
        if index == 0:
            heir.start = 0.0
            heir.starts.append(0.0)
            heir.moments = (*gone.moments, *heir.moments)
        else:
            heir.moments = (*heir.moments, *gone.moments)
        heir.note("drop")
        return ""

    def _short(self) -> list[Seconds]:
        shortest = host_rules().shortest_s
        ends = [*(c.start for c in self._all[1:]), self._whole]
        return [c.start for c, end in zip(self._all, ends, strict=True) if end - c.start < shortest - 1e-6]

    def _refused(self, made: Sequence[Chapter]) -> list[Problem]:
        """What of a person's own choice hosts would not take, or not show."""
        rules, short = host_rules(), set(self._short()) - self._drafted_short
        found = []
        for chapter in made:
            if chapter.start in short:
                what = (
                    f"is {chapter.end - chapter.start:.1f} s long, and video hosts take no chapters at all where one "
                    f"is shorter than {rules.shortest_s:.0f} s"
                )
                found.append(Problem(where=f"chapter “{chapter.title}”", what=what, remedy="Move a start or drop it."))
            if "title" in chapter.decided and len(chapter.title) > rules.title_shown:
                what = f"has a title of {len(chapter.title)} characters, of which about {rules.title_shown} are shown"
                found.append(Problem(where=f"chapter “{chapter.title}”", what=what, remedy="Shorten it.", level="note"))
        return found


def _stale(decision: Decision, why: str) -> Problem:
    where = f"decisions.jsonl, line {decision.line}" if decision.line else "decisions.jsonl"
    about = f"“{decision.title}”" if decision.title else decision.term or f"{decision.clip} at {decision.start:g} s"
    return Problem(
        where=where,
        what=f"the decision “{decision.action}” about the chapter {about} does not apply: {why}",
        remedy="Decide it again in the review, or leave it: it changes nothing.",
    )
