"""How far a moment and a log row speak of the same thing."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from functools import lru_cache, partial
from math import log
from typing import TYPE_CHECKING, TypeVar

from episode.matching.kinship import Kinship
from episode.matching.senses import Sense

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

One = TypeVar("One", bound=Hashable)
Other = TypeVar("Other", bound=Hashable)
_Things = tuple[tuple[str, float], ...]
_Names = tuple[str, ...]
_Labels = frozenset[str]

# How often a true pair, and any pair, reaches a likeness of names. Estimates of the author; the counts of the
# day's own log correct the second (ten imagined rows of this sort stand beside the real ones).
_LEVELS = ((0.9, 0.60, 0.03), (0.7, 0.50, 0.05), (0.4, 0.30, 0.10), (0.2, 0.12, 0.15))
_IMAGINED_ROWS = 10.0
_STRANGERS = (0.08, 0.80)
_STRANGER_TO_A_GUESS = (0.30, 0.80)
_MOST_FROM_WORDS = 2.5

WORDS_IN_COMMON = "words in common: "


class Meaning:
    """Evidence from meaning alone for every pair of moment and row.

    ``evidence[i, j]`` is a log-likelihood ratio in nats: how much likelier the words of both are if row
    ``j`` was written for moment ``i`` than if it was not. Names that many rows share count less than rare
    ones. ``likeness[i, j]`` is that of the names alone, 0 to 1, ``nan`` where either names nothing known.
    """

    def __init__(self, moments: Sequence[Sense], rows: Sequence[Sense], kin: Kinship) -> None:
        import numpy as np

        self._moments, self._rows, self._kin = moments, rows, kin
        self.likeness: NDArray[np.float64] = _crossed(
            [(tuple(m.things.items()), m.names) for m in moments],
            [(tuple(r.things.items()), r.names, r.open) for r in rows],
            self._likeness,
        )
        with np.errstate(invalid="ignore"):
            same = self.likeness >= 0.9
        ours, theirs = [(m.materials, m.implied) for m in moments], [(r.materials, r.implied) for r in rows]
        material, material_of_same = (
            _crossed(ours, theirs, partial(self._from_material, same=told)) for told in (False, True)
        )
        self.evidence: NDArray[np.float64] = (
            self._from_names()
            + np.where(same, material_of_same, material)
            + self._from_makers()
            + _crossed([(m.periods, m.years) for m in moments], [(r.periods, r.years) for r in rows], self._from_period)
            + self._from_words()
            + _crossed([m.numbers for m in moments], [r.numbers for r in rows], lambda a, b: 3.0 if a & b else 0.0)
        )

    def reasons(self, i: int, j: int, said: str) -> list[str]:
        """Plain sentences for a pair; ``said`` is the row's object as written."""
        moment, row = self._moments[i], self._rows[j]
        likeness = float(self.likeness[i, j])
        found = []
        if likeness >= 0.9:
            found.append(f"the log says {said!r}: the same object")
        elif likeness >= 0.6:
            found.append(f"the log says {said!r}: a broader or narrower name for it")
        elif likeness >= 0.2:
            found.append(f"the log says {said!r}: something like it")
        elif said:
            found.append(f"the log says {said!r}: not the name said on camera")
        if self._shared(moment.materials, row.materials | row.implied):
            found.append("the material agrees")
        if _from_maker(moment.makers, moment.words, row.makers) > 0:
            found.append("the maker agrees")
        if self._shared(moment.periods, row.periods):
            found.append("the period agrees")
        words = sorted(moment.words & row.words)
        if words:
            found.append(WORDS_IN_COMMON + ", ".join(words[:4]))
        if moment.numbers & row.numbers:
            found.append("its number in the log is said aloud")
        return found

    def _likeness(self, moment: tuple[_Things, _Names], row: tuple[_Things, _Names, bool]) -> float:
        (things, names), (others, other_names, open_) = moment, row
        best = 0.0
        for thing, weight in things:
            for other, firm in others:
                best = max(best, weight * firm * self._kin.nearness(thing, other))
        if best < 0.6:
            best = max(best, _spelled_alike(names, other_names))
        known = bool(things) and (not open_ or best >= 0.2)
        return best if known else float("nan")

    def _from_names(self) -> NDArray[np.float64]:
        import numpy as np

        found = np.zeros(self.likeness.shape)
        for i, moment in enumerate(self._moments):
            likeness = self.likeness[i]
            when_true, otherwise = _STRANGER_TO_A_GUESS if moment.open else _STRANGERS
            told = np.where(np.isnan(likeness), 0.0, log(when_true / otherwise))
            for level, when_true, otherwise in reversed(_LEVELS):
                with np.errstate(invalid="ignore"):
                    reached = likeness >= level
                others = int(np.count_nonzero(reached)) - 1
                share = (others + _IMAGINED_ROWS * otherwise) / (len(self._rows) + _IMAGINED_ROWS)
                if others >= 0:
                    told[reached] = max(log(when_true / share), 0.3)
            found[i] = told
        return found

    def _from_material(self, moment: tuple[_Labels, _Labels], row: tuple[_Labels, _Labels], *, same: bool) -> float:
        """From what it is made of; ``same`` where the names are those of one thing."""
        (said, implied), (written, other_implied) = moment, row
        if not written and not said:
            return 0.0
        spoken = bool(said)
        if not spoken and same:
            return 0.0
        mine, theirs = said or implied, written or other_implied
        if not mine or not theirs:
            return 0.0
        if self._shared(mine, theirs):
            return 1.0 if spoken else 0.6
        return -1.2 if spoken and written else -0.6

    def _from_makers(self) -> NDArray[np.float64]:
        return _crossed(
            [(m.makers, m.words) for m in self._moments],
            [r.makers for r in self._rows],
            lambda moment, makers: _from_maker(*moment, makers),
        )

    def _from_period(
        self, moment: tuple[_Labels, tuple[int | None, int | None]], row: tuple[_Labels, tuple[int | None, int | None]]
    ) -> float:
        (said, (start, end)), (written, (begins, ends)) = moment, row
        if said and written:
            return 0.7 if self._shared(said, written) else -0.4
        if None not in (start, ends) and start > ends:  # type: ignore[operator]
            return -0.5
        if None not in (end, begins) and end < begins:  # type: ignore[operator]
            return -0.5
        return 0.0

    def _from_words(self) -> NDArray[np.float64]:
        """From the words that both have: the rarer, the more."""
        import numpy as np

        in_rows, in_moments = _rarity(self._rows), _rarity(self._moments)
        places: dict[str, list[int]] = {}
        for j, row in enumerate(self._rows):
            for word in row.words:
                places.setdefault(word, []).append(j)
        found = np.zeros(self.likeness.shape)
        for i, moment in enumerate(self._moments):
            for word in sorted(moment.words & places.keys()):
                found[i, places[word]] += 0.25 * (max(0.0, in_rows[word]) + max(0.0, in_moments[word]))
        return np.minimum(_MOST_FROM_WORDS, found)

    def _shared(self, some: frozenset[str], others: frozenset[str]) -> bool:
        return any(self._kin.nearness(a, b) >= 0.4 for a in some for b in others)


def _crossed(some: Sequence[One], others: Sequence[Other], value: Callable[[One, Other], float]) -> NDArray[np.float64]:
    """``value`` of every pair, asked once for those that are alike: a day names the same things again and again."""
    import numpy as np

    mine, theirs = list(dict.fromkeys(some)), list(dict.fromkeys(others))
    table = np.array([[value(a, b) for b in theirs] for a in mine], dtype=float).reshape(len(mine), len(theirs))
    my_places = {key: place for place, key in enumerate(mine)}
    their_places = {key: place for place, key in enumerate(theirs)}
    rows = np.array([my_places[key] for key in some], dtype=int)
    columns = np.array([their_places[key] for key in others], dtype=int)
    return np.asarray(table[np.ix_(rows, columns)])


def _from_maker(said: _Labels, words: _Labels, written: _Labels) -> float:
    if not written:
        return 0.0
    if said & written:
        return 2.2
    names = {word for maker in written for word in maker.lower().split() if len(word) > 3}
    if names & words:
        return 1.6
    return -0.8 if said else 0.0


@lru_cache(maxsize=100_000)
def _spelled_alike(names: tuple[str, ...], others: tuple[str, ...]) -> float:
    from rapidfuzz import fuzz, utils

    best = 0.0
    for name in names:
        for other in others:
            ratio = max(fuzz.token_set_ratio(name, other, processor=utils.default_process), _nearest_words(name, other))
            if ratio >= 75.0:
                best = max(best, 0.85 * (ratio - 50.0) / 50.0)
    return best


def _nearest_words(name: str, other: str) -> float:
    """Likeness in spelling of a name and as many words of another ("creamwear rim" holds "creamware" misspelt)."""
    from rapidfuzz import fuzz

    wanted, words = name.lower().split(), other.lower().split()
    if len(name) < 5 or not wanted:
        return 0.0
    spans = [" ".join(words[at : at + len(wanted)]) for at in range(len(words) - len(wanted) + 1)]
    return max((fuzz.ratio(" ".join(wanted), span) for span in spans), default=0.0)


def _rarity(senses: Sequence[Sense]) -> dict[str, float]:
    """Inverse document frequency of each word (Spärck Jones 1972; the paper not read, from memory)."""
    counts: dict[str, int] = {}
    for sense in senses:
        for word in sense.words:
            counts[word] = counts.get(word, 0) + 1
    return {word: log((len(senses) + 1.0) / (count + 0.5)) for word, count in counts.items()}
