"""Names that the words heard sound like: "bell armin jar", "western old stoneware".

Every run of words in which something is odd (the recogniser was unsure, or a word is uncommon) is laid into a space
of sounds (``episode.spotting.soundspace``), where its nearest names are looked up; those are compared phone by
phone, and the best few of each stretch stay as candidates.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from episode.lexicon.phones import numbers
from episode.lexicon.sounds import sounds
from episode.models import How, Term
from episode.spotting.distance import distances
from episode.spotting.everyday import zipf
from episode.spotting.names import LONGEST_BORDER_PAUSE_S, Names, Span
from episode.spotting.soundspace import Shelves, points
from episode.spotting.stream import Token

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FARTHEST = 0.36
"""Cost per phone of the name, above which it is no candidate."""
FARTHEST_STRANGE = 0.5
SHORTEST_PHONES = 4
SHORTEST_HEARD = 3
LONGEST_HEARD = 32
LONGEST_WINDOW = 5
NEAR_DOUBTED, NEAR_RARE, NEAR_PLAIN = 1.0, 0.7, 0.35
"""Parts of the reach within which a name is looked for, by how odd the words are."""
NEAREST = 16
"""Names compared phone by phone for each run of words."""
UNSURE = 0.5
DOUBTED = 0.75
SURE = 0.85
RARE_ZIPF, ODD_ZIPF = 3.0, 4.0
COMMON_ZIPF, KNOWN_ZIPF = 4.6, 5.2
MERIT = 0.38
BLOCK = 20_000
"""Runs of words compared together, so that a long day takes no more memory than a short one."""
BEST = 6
"""Candidates kept for a word."""

_EDGES = frozenset(
    "the a an and of this that it is in to i my on at we you he she they so but or as if was were be with for not its "
    "that's it's i'm i've there's here's there here just got have has had do me us our your what oh".split()
)
"""Words that no name begins or ends with, where they were surely heard."""
_ENDINGS = ("ed", "d", "ing", "er", "ers", "ly", "y", "ish", "less", "ful", "fuls", "able", "like", "n", "en")


@dataclass(frozen=True, slots=True)
class Candidate:
    """Tokens ``first`` to ``last`` (exclusive) may be ``name``, at ``cost`` per phone of it."""

    first: int
    last: int
    name: tuple[str, ...]
    term: Term
    cost: float
    strange_cost: float
    """The same per phone of those words of the name that are not there as written."""
    phones: int
    plural: bool
    heard_phones: int
    away: float
    """Squared distance in the space of sounds."""


@dataclass(frozen=True, slots=True)
class _Heard:
    """A run of words: its tokens, how far a name of it may lie, and its phones."""

    first: int
    last: int
    reach: float
    phones: list[int]


class Alike:
    """The names of a lexicon, ready to be looked for by sound."""

    def __init__(self, names: Names) -> None:
        listed = [(tokens, term) for tokens, term, how in names.listed if how is not How.MISHEARING]
        said = sounds(word for tokens, _ in listed for word in tokens)
        self.spelt = names.spelt
        self._known = {tokens for tokens, _, _ in names.listed}
        self._firsts = frozenset(said[tokens[0]] for tokens, _ in listed)
        self._lasts = frozenset(said[tokens[-1]] for tokens, _ in listed)
        self.names: list[tuple[tuple[str, ...], Term]] = []
        self._sounds: list[list[int]] = []
        self._parts: list[tuple[int, ...]] = []
        for tokens, term in listed:
            sound = "".join(said[word] for word in tokens)
            if len(sound) >= SHORTEST_PHONES:
                self.names.append((tokens, term))
                self._sounds.append(numbers(sound))
                self._parts.append(tuple(len(said[word]) for word in tokens))
        self._shelves = Shelves(points(self._sounds)) if self.names else None
        self._said: dict[str, str] = {}

    def learn(self, words: Iterable[str]) -> None:
        """Work out how words are said ahead of ``find``: those that only their letters tell of are quicker together."""
        self._said.update(sounds(word for word in dict.fromkeys(words) if word not in self._said))

    def find(self, tokens: Sequence[Token], taken: Iterable[Span] = ()) -> list[Candidate]:
        """The likeliest names for each run of words, in order of place; they may overlap.

        What is ``taken`` by a name as written is left, unless the longer name holds that name.
        """
        if self._shelves is None or not tokens:
            return []
        by_place = {place: span for span in taken for place in range(span.first, span.last)}
        self.learn(token.form for token in tokens)
        said = self._said
        found: list[Candidate] = []
        heard: list[_Heard] = []
        for first, last, reach in self._windows(tokens, by_place, said):
            sound = "".join(said[token.form] for token in tokens[first:last])
            if SHORTEST_HEARD <= len(sound) <= LONGEST_HEARD:
                heard.append(_Heard(first, last, reach, numbers(sound)))
            if len(heard) == BLOCK:
                found += self._compared(heard, tokens, by_place)
                heard = []
        return _likeliest(found + self._compared(heard, tokens, by_place))

    def _compared(self, heard: Sequence[_Heard], tokens: Sequence[Token], by_place: dict[int, Span]) -> list[Candidate]:
        """The names that are near enough to some of the runs of words."""
        import numpy as np

        if self._shelves is None or not heard:
            return []
        reach = np.array([one.reach for one in heard], dtype=np.float32)
        within = reach * self._shelves.reach[[len(one.phones) for one in heard]]
        which, name, away = _nearest(*self._shelves.near(points([one.phones for one in heard]), within))
        cost, plural = distances([heard[w].phones for w in which.tolist()], [self._sounds[n] for n in name.tolist()])
        # Of words that look sound, only a close likeness is worth a thought.
        farthest = FARTHEST * (0.55 + 0.45 * reach[which])
        found: list[Candidate] = []
        for place in np.flatnonzero(cost <= farthest).tolist():
            one = heard[which[place]]
            number = int(name[place])
            spelt, term = self.names[number]
            own = tokens[one.first : one.last]
            phones = len(self._sounds[number])
            strange = self._strange(number, own)
            dear = float(cost[place]) * phones / strange if strange else 0.0
            if dear > FARTHEST_STRANGE or _derived(own, spelt):
                continue
            if not _may_replace(one.first, one.last, spelt, term, by_place, own):
                continue
            found.append(
                Candidate(
                    first=one.first,
                    last=one.last,
                    name=spelt,
                    term=term,
                    cost=round(float(cost[place]), 4),
                    strange_cost=round(dear, 4),
                    phones=phones,
                    plural=bool(plural[place]),
                    heard_phones=len(one.phones),
                    away=round(float(away[place]), 4),
                )
            )
        return found

    def _strange(self, number: int, heard: Sequence[Token]) -> int:
        """Phones of those words of the name that were not written."""
        written = {token.form for token in heard} | {token.form.removesuffix("s") for token in heard}
        name, _ = self.names[number]
        return sum(count for word, count in zip(name, self._parts[number], strict=True) if word not in written) or sum(
            self._parts[number]
        )

    def _windows(
        self, tokens: Sequence[Token], taken: dict[int, Span], said: dict[str, str]
    ) -> Iterator[tuple[int, int, float]]:
        """Runs of words that deserve a look, and how far a name of each may lie.

        A sure and common word begins or ends one only if it sounds like the beginning or the end of a name.
        """
        flat = is_flat(tokens)
        reaches = [_reach(token, flat=flat) for token in tokens]
        forms = [token.form for token in tokens]
        trusted = 0.0 if flat else DOUBTED
        begins = [
            _may_stand(token, reach, said, self._firsts, trusted) for token, reach in zip(tokens, reaches, strict=True)
        ]
        ends = [
            _may_stand(token, reach, said, self._lasts, trusted) for token, reach in zip(tokens, reaches, strict=True)
        ]
        for first in range(len(tokens)):
            if not begins[first]:
                continue
            reach = 0.0
            for last in range(first + 1, min(len(tokens), first + LONGEST_WINDOW) + 1):
                if last - first > 1 and _parted(tokens[last - 2], tokens[last - 1]):
                    break
                if not forms[last - 1][:1].isalpha():
                    break
                reach = max(reach, reaches[last - 1])
                if not reach or not ends[last - 1] or tuple(forms[first:last]) in self._known:
                    continue
                span = taken.get(first)
                if span is not None and span.first <= first and last <= span.last:
                    continue
                yield first, last, reach


def is_flat(tokens: Sequence[Token]) -> bool:
    """Whether the words carry no confidence of their own, as captions do not: all have the same."""
    return len({token.word.probability for token in tokens}) <= 1


def merit(one: Candidate) -> float:
    """How much a candidate explains: phones of the name, each worth more the better it fits."""
    return one.phones * (MERIT - one.cost)


def _may_stand(token: Token, reach: float, said: dict[str, str], known: frozenset[str], trusted: float) -> bool:
    if not token.form[:1].isalpha():
        return False
    if token.word.probability < trusted:
        return reach > 0
    sound = said[token.form]
    return token.form not in _EDGES and (reach > 0 or sound in known or sound[:-1] in known)


def _reach(token: Token, *, flat: bool) -> float:
    """How far from what was written a name may lie: farther the less the word can be trusted."""
    rare = zipf(token.form)
    if flat:
        # Captions carry no confidence: what is odd is what people seldom say.
        return (
            NEAR_DOUBTED
            if rare < RARE_ZIPF
            else NEAR_RARE
            if rare < ODD_ZIPF
            else NEAR_PLAIN
            if rare < KNOWN_ZIPF
            else 0.0
        )
    if token.word.probability < UNSURE:
        return NEAR_DOUBTED
    if token.word.probability < DOUBTED or rare < RARE_ZIPF:
        return NEAR_DOUBTED if rare < RARE_ZIPF else NEAR_RARE
    return _plain(rare)


def _plain(rare: float) -> float:
    return NEAR_PLAIN if rare < COMMON_ZIPF else 0.0


def _parted(token: Token, following: Token) -> bool:
    if token.after == "?" or token.gap > LONGEST_BORDER_PAUSE_S:
        return True
    # A comma between words that were guesses is a guess too.
    return token.after == "," and max(token.word.probability, following.word.probability) >= DOUBTED


def _nearest(
    which: NDArray[np.int64], name: NDArray[np.int64], away: NDArray[np.float32]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float32]]:
    """The ``NEAREST`` of each asked row."""
    import numpy as np

    order = np.lexsort((name, away, which))
    which, name, away = which[order], name[order], away[order]
    starts = np.flatnonzero(np.diff(which, prepend=-1))
    rank = np.arange(len(which)) - np.repeat(starts, np.diff(starts, append=len(which)))
    kept = rank < NEAREST
    return which[kept], name[kept], away[kept]


def _may_replace(
    first: int, last: int, name: tuple[str, ...], term: Term, taken: dict[int, Span], own: Sequence[Token]
) -> bool:
    """Whether nothing that is there as written speaks against it: that goes only for a longer name, and in doubt."""
    stems = {word.removesuffix("s") for word in name}
    for place in range(first, last):
        span = taken.get(place)
        if span is None:
            continue
        if span.first < first or span.last > last or span.last - span.first == last - first:
            return False
        if span.term.term == term.term:
            return False
        if (
            span.last - span.first > 1
            and not {token.form.removesuffix("s") for token in own[span.first - first : span.last - first]} <= stems
        ):
            return False
        strange = [token for token in own if token.form not in name and token.form.removesuffix("s") not in name]
        sure = 1.1 if len({token.word.probability for token in own}) == 1 else SURE
        if not any(token.word.probability < sure or zipf(token.form) < RARE_ZIPF for token in strange):
            return False
    return True


def _derived(heard: Sequence[Token], name: tuple[str, ...]) -> bool:
    """Whether an English word was made from the name: "thimbleful", "buckled", "glassy"."""
    if len(heard) != 1 or len(name) != 1:
        return False
    word, stem = heard[0].form, name[0]
    return word.startswith(stem.rstrip("ey")) and any(
        word in (stem + ending, stem.rstrip("e") + ending, stem.rstrip("y") + "i" + ending) for ending in _ENDINGS
    )


def _likeliest(found: list[Candidate]) -> list[Candidate]:
    """The best of each place and term, and of each place the few best terms."""
    best: dict[tuple[int, str], Candidate] = {}
    for one in sorted(found, key=lambda c: (-merit(c), c.first, c.last, c.name)):
        middle = (one.first + one.last - 1) // 2
        best.setdefault((middle, one.term.term), one)
    kept: list[Candidate] = []
    full: dict[int, int] = {}
    for one in best.values():
        if all(full.get(place, 0) < BEST for place in range(one.first, one.last)):
            kept.append(one)
            for place in range(one.first, one.last):
                full[place] = full.get(place, 0) + 1
    return sorted(kept, key=lambda c: (c.first, c.last, c.name))
