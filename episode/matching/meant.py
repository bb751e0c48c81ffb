"""Which moment a decision means: by second, words and term, as far as these still agree."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable

from episode.day.same_words import ALIKE, SURELY_ALIKE, likeness, most_alike, plain
from episode.matching.working import Working
from episode.models import Decision

NEAR_S = 3.0
SAME_PLACE_S = 1.0
"""Within this the second alone is enough, where nothing is quoted that says otherwise."""
_TIE_S = 0.05
_TIE_WORDS = 5.0
_PLAINLY_NEARER = 3.0


class Meant:
    """All moments of the day, found by what is said of them. Kept up to date with ``add`` and ``moved``."""

    def __init__(self, moments: Iterable[Working], clips: Iterable[str]) -> None:
        """``clips`` are the clips there are, with or without moments."""
        self._clips = set(clips)
        self._seconds: dict[str, list[tuple[float, int]]] = {}
        self._all: list[Working] = []
        self._by_clip: dict[str, list[Working]] = {}
        for found in moments:
            self.add(found)

    def add(self, found: Working) -> None:
        """One more moment."""
        self._all.append(found)
        self._clips.add(found.moment.clip)
        self._by_clip.setdefault(found.moment.clip, []).append(found)
        self._index(found, len(self._all) - 1, found.anchors)

    def moved(self, found: Working) -> None:
        """The moment has new seconds by which it may be known."""
        at = next(index for index, other in enumerate(self._all) if other is found)
        self._index(found, at, found.anchors)

    def has_clip(self, name: str | None) -> bool:
        """Whether there is such a clip."""
        return name in self._clips

    def of_clip(self, name: str) -> list[Working]:
        """The moments of a clip."""
        return [w for w in self._by_clip.get(name, ()) if not w.gone]

    def find(self, decision: Decision) -> Working | str:
        """The moment meant, or in words why there is none."""
        near = self._near(decision.clip, decision.start) if decision.start is not None else []
        fits = [(w, off) for w, off in near if _agrees(w, off, decision)]
        if fits:
            return _nearest(fits, decision)
        by_words = self._by_words(decision)
        if by_words:
            return _of_words(by_words, decision)
        inside = [w for w in self.of_clip(decision.clip or "") if _inside(w, decision)]
        if len(inside) == 1:
            return inside[0]
        return "it could be more than one moment now" if inside else "there is no such moment any more"

    def beginning_at(self, clip: str, second: float, other_than: Working) -> Working | str:
        """The moment that begins nearest to a second of a clip."""
        near = [(w, off) for w, off in self._near(clip, second) if w is not other_than]
        if not near:
            return f"no other moment begins near second {second:g} any more"
        return min(near, key=lambda pair: (abs(pair[0].moment.start - second), pair[1]))[0]

    def _index(self, found: Working, number: int, seconds: Iterable[float]) -> None:
        line = self._seconds.setdefault(found.moment.clip, [])
        for second in seconds:
            entry = (second, number)
            at = bisect_left(line, entry)
            if at == len(line) or line[at] != entry:
                insort(line, entry)

    def _near(self, clip: str | None, second: float) -> list[tuple[Working, float]]:
        line = self._seconds.get(clip or "", [])
        numbers: dict[int, None] = {}
        for at in range(bisect_left(line, (second - NEAR_S - 1e-9, -1)), len(line)):
            if line[at][0] > second + NEAR_S + 1e-9:
                break
            numbers[line[at][1]] = None
        found = ((self._all[n], self._all[n].off(second)) for n in numbers if not self._all[n].gone)
        return [(w, off) for w, off in found if off <= NEAR_S + 1e-9]

    def _by_words(self, decision: Decision) -> list[tuple[Working, float]]:
        """Moments that hold the words quoted, of any clip where the decision's own is gone."""
        if not decision.quote:
            return []
        here = self.of_clip(decision.clip) if decision.clip in self._clips else [w for w in self._all if not w.gone]
        found = ((w, most_alike(decision.quote, _quotes(w), SURELY_ALIKE)) for w in here)
        return [(w, score) for w, score in found if score >= SURELY_ALIKE]


def _quotes(found: Working) -> dict[str, None]:
    return dict.fromkeys(m.quote or m.heard for m in found.moment.mentions)


def _has_term(found: Working, decision: Decision) -> bool:
    return decision.term is not None and decision.term.casefold() in found.terms


def _agrees(found: Working, off: float, decision: Decision) -> bool:
    """Whether a moment near the decision's second may be the one: words or term must agree where they are told."""
    if (decision.term is None and not decision.quote) or _has_term(found, decision):
        return True
    if decision.quote and found.moment.mentions:
        return most_alike(decision.quote, _quotes(found), ALIKE) >= ALIKE
    return off <= SAME_PLACE_S


def _nearest(fits: list[tuple[Working, float]], decision: Decision) -> Working | str:
    def key(pair: tuple[Working, float]) -> tuple[bool, float]:
        return (not _has_term(pair[0], decision), pair[1])

    ordered = sorted(fits, key=key)
    first = ordered[0]
    rivals = [p for p in ordered[1:] if key(p)[0] == key(first)[0] and p[1] - first[1] < _TIE_S]
    if rivals and decision.quote:
        scored = sorted(
            ((most_alike(decision.quote, _quotes(w)), -i, w) for i, (w, _) in enumerate((first, *rivals))),
            key=lambda s: s[:2],
        )
        if scored[-1][0] - scored[-2][0] > _TIE_WORDS:
            return scored[-1][2]
    if rivals:
        return _telling_apart([first[0], *(w for w, _ in rivals)], decision)
    return first[0]


def _telling_apart(rivals: list[Working], decision: Decision) -> Working | str:
    """Of moments at one place: the one whose main term or very start is meant, else the only find among them."""
    for passed in (
        [w for w in rivals if decision.term and (w.moment.term or "").casefold() == decision.term.casefold()],
        [w for w in rivals if decision.start is not None and abs(w.moment.start - decision.start) < _TIE_S],
        [w for w in rivals if decision.end is not None and abs(w.moment.end - decision.end) < _TIE_S],
        [w for w in rivals if w.is_find],
    ):
        if len(passed) == 1:
            return passed[0]
    return "it could be more than one moment now"


def _of_words(found: list[tuple[Working, float]], decision: Decision) -> Working | str:
    termed = [p for p in found if _has_term(p[0], decision)] or found
    best = max(score for _, score in termed)
    rivals = [w for w, score in termed if best - score <= _TIE_WORDS]
    if len(rivals) > 1 and decision.start is not None:
        at = decision.start
        rivals.sort(key=lambda w: w.off(at))
        if rivals[1].off(at) > _PLAINLY_NEARER * rivals[0].off(at):
            return rivals[0]
    return rivals[0] if len(rivals) == 1 else _telling_apart(rivals, decision)


def _inside(found: Working, decision: Decision) -> bool:
    """Whether its term is named between the decision's start and end."""
    if decision.start is None or decision.end is None or not _has_term(found, decision):
        return False
    if decision.quote and not any(likeness(decision.quote, quote) >= ALIKE for quote in map(plain, _quotes(found))):
        return False
    wanted = (decision.term or "").casefold()
    return any(
        decision.start - 0.5 <= m.start <= decision.end + 0.5 and m.term.casefold() == wanted
        for m in found.moment.mentions
    )
