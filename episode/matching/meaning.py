"""How far a moment and a log row speak of the same thing."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import log
from typing import TYPE_CHECKING

from episode.matching.kinship import Kinship
from episode.matching.senses import Sense

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

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
        shape = (len(moments), len(rows))
        self.likeness: NDArray[np.float64] = np.zeros(shape)
        self.evidence: NDArray[np.float64] = np.zeros(shape)
        row_weight, moment_weight = _rarity(rows), _rarity(moments)
        for i, moment in enumerate(moments):
            self.likeness[i] = [self._likeness(moment, row) for row in rows]
            for j, row in enumerate(rows):
                self.evidence[i, j] = (
                    self._from_names(i, j)
                    + self._from_material(moment, row, float(self.likeness[i, j]))
                    + self._from_maker(moment, row)
                    + self._from_period(moment, row)
                    + _from_words(moment, row, row_weight, moment_weight)
                    + (3.0 if moment.numbers & row.numbers else 0.0)
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
        if self._from_maker(moment, row) > 0:
            found.append("the maker agrees")
        if self._shared(moment.periods, row.periods):
            found.append("the period agrees")
        words = sorted(moment.words & row.words)
        if words:
            found.append(WORDS_IN_COMMON + ", ".join(words[:4]))
        if moment.numbers & row.numbers:
            found.append("its number in the log is said aloud")
        return found

    def _likeness(self, moment: Sense, row: Sense) -> float:
        best = 0.0
        for thing, weight in moment.things.items():
            for other, firm in row.things.items():
                best = max(best, weight * firm * self._kin.nearness(thing, other))
        if best < 0.6:
            best = max(best, _spelled_alike(moment.names, row.names))
        known = bool(moment.things) and (not row.open or best >= 0.2)
        return best if known else float("nan")

    def _from_names(self, i: int, j: int) -> float:
        import numpy as np

        likeness = float(self.likeness[i, j])
        if np.isnan(likeness):
            return 0.0
        for level, when_true, otherwise in _LEVELS:
            if likeness >= level:
                with np.errstate(invalid="ignore"):
                    others = int(np.count_nonzero(self.likeness[i] >= level)) - 1
                share = (others + _IMAGINED_ROWS * otherwise) / (len(self._rows) + _IMAGINED_ROWS)
                return max(log(when_true / share), 0.3)
        when_true, otherwise = _STRANGER_TO_A_GUESS if self._moments[i].open else _STRANGERS
        return log(when_true / otherwise)

    def _from_material(self, moment: Sense, row: Sense, likeness: float) -> float:
        if not row.materials and not moment.materials:
            return 0.0
        spoken = bool(moment.materials)
        if not spoken and likeness >= 0.9:
            return 0.0
        mine, theirs = moment.materials or moment.implied, row.materials or row.implied
        if not mine or not theirs:
            return 0.0
        if self._shared(mine, theirs):
            return 1.0 if spoken else 0.6
        return -1.2 if spoken and row.materials else -0.6

    def _from_maker(self, moment: Sense, row: Sense) -> float:
        if not row.makers:
            return 0.0
        if moment.makers & row.makers:
            return 2.2
        said = {word for maker in row.makers for word in maker.lower().split() if len(word) > 3}
        if said & moment.words:
            return 1.6
        return -0.8 if moment.makers else 0.0

    def _from_period(self, moment: Sense, row: Sense) -> float:
        if moment.periods and row.periods:
            return 0.7 if self._shared(moment.periods, row.periods) else -0.4
        (start, end), (begins, ends) = moment.years, row.years
        if None not in (start, ends) and start > ends:  # type: ignore[operator]
            return -0.5
        if None not in (end, begins) and end < begins:  # type: ignore[operator]
            return -0.5
        return 0.0

    def _shared(self, some: frozenset[str], others: frozenset[str]) -> bool:
        return any(self._kin.nearness(a, b) >= 0.4 for a in some for b in others)


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


def _from_words(moment: Sense, row: Sense, in_rows: dict[str, float], in_moments: dict[str, float]) -> float:
    shared = sorted(moment.words & row.words)
    weight = sum(0.25 * (max(0.0, in_rows[word]) + max(0.0, in_moments[word])) for word in shared)
    return min(_MOST_FROM_WORDS, weight)
