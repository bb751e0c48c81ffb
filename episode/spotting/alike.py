"""Names that the words heard sound like: "bell armin jar", "western old stoneware".

Candidates come from the consonants of every run of words in seven classes, looked up with one or two deleted
on either side (the symmetric delete method of Garbe 2012), so that the cost hardly grows with the vocabulary;
two only where the recogniser was unsure or wrote rare words. The few that are left are compared phone by phone.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from episode.lexicon.phones import numbers, skeleton
from episode.lexicon.sounds import sounds
from episode.models import How, Term
from episode.spotting.distance import distances
from episode.spotting.everyday import zipf
from episode.spotting.names import LONGEST_BORDER_PAUSE_S, Names, Span
from episode.spotting.stream import Token

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FARTHEST = 1 / 3
FARTHEST_STRANGE = 0.4
"""Cost per phone of the name, above which it is no candidate."""
SHORTEST_PHONES = 5
SHORTEST_SKELETON = 3
LONGEST_SKELETON = 12
LONGEST_WINDOW = 5
DEEP_SKELETON = 5
"""From this many consonants on two may be lost, where the words are in doubt."""
UNSURE = 0.7
RARE_ZIPF = 3.0
COMMON_ZIPF = 4.6
MERIT = 0.38
BEST = 4
"""Candidates kept for a word."""
_SYMBOLS = "pftksmlw"


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


class Alike:
    """The names of a lexicon, ready to be looked for by sound."""

    def __init__(self, names: Names) -> None:
        listed = [(tokens, term) for tokens, term, how in names.listed if how is not How.MISHEARING]
        said = sounds(word for tokens, _ in listed for word in tokens)
        self.spelt = names.spelt
        self._known = {tokens for tokens, _, _ in names.listed}
        self.names: list[tuple[tuple[str, ...], Term]] = []
        self._sounds: list[list[int]] = []
        self._parts: list[tuple[int, ...]] = []
        keys: list[str] = []
        for tokens, term in listed:
            sound = "".join(said[word] for word in tokens)
            key = skeleton(sound)
            if len(sound) >= SHORTEST_PHONES and len(key) >= SHORTEST_SKELETON:
                self.names.append((tokens, term))
                self._sounds.append(numbers(sound))
                self._parts.append(tuple(len(said[word]) for word in tokens))
                keys.append(key)
        self._codes, self._owners = _coded(keys, deep=True)

    def find(self, tokens: Sequence[Token], taken: Iterable[Span] = ()) -> list[Candidate]:
        """The likeliest names for each run of words, in order of place; they may overlap.

        What is ``taken`` by a name as written is left, unless the longer name holds that name.
        """
        import numpy as np

        if not self.names or not tokens:
            return []
        by_place = {place: span for span in taken for place in range(span.first, span.last)}
        windows = list(_windows(tokens, by_place, self._known))
        said = sounds(token.form for token in tokens)
        places: dict[str, list[int]] = {}
        heard: list[list[int]] = []
        deep: dict[str, bool] = {}
        for number, (first, last, doubtful) in enumerate(windows):
            sound = "".join(said[token.form] for token in tokens[first:last])
            key = _joined([skeleton(said[token.form]) for token in tokens[first:last]])
            heard.append(numbers(sound))
            if SHORTEST_SKELETON - 1 <= len(key) <= LONGEST_SKELETON + 2:
                places.setdefault(key, []).append(number)
                deep[key] = deep.get(key, False) or doubtful
        pairs = self._pairs(places, deep, heard)
        if not len(pairs):
            return []
        which, name = pairs[:, 0], pairs[:, 1]
        cost, plural = distances([heard[w] for w in which], [self._sounds[n] for n in name])
        found: list[Candidate] = []
        for place in np.flatnonzero(cost <= FARTHEST):
            first, last, _ = windows[which[place]]
            number = int(name[place])
            spelt, term = self.names[number]
            phones = len(self._sounds[number])
            strange = self._strange(number, tokens[first:last])
            away = float(cost[place]) * phones / strange if strange else 0.0
            if away > FARTHEST_STRANGE or not _odd(tokens[first:last], spelt):
                continue
            if not _may_replace(first, last, spelt, term, by_place, _odd(tokens[first:last], spelt, RARE_ZIPF)):
                continue
            found.append(
                Candidate(
                    first=first,
                    last=last,
                    name=spelt,
                    term=term,
                    cost=round(float(cost[place]), 4),
                    strange_cost=round(away, 4),
                    phones=phones,
                    plural=bool(plural[place]),
                    heard_phones=len(heard[which[place]]),
                )
            )
        return _likeliest(found)

    def _strange(self, number: int, heard: Sequence[Token]) -> int:
        """Phones of those words of the name that were not written."""
        written = {token.form for token in heard} | {token.form.removesuffix("s") for token in heard}
        name, _ = self.names[number]
        return sum(count for word, count in zip(name, self._parts[number], strict=True) if word not in written) or sum(
            self._parts[number]
        )

    def _pairs(self, places: dict[str, list[int]], deep: dict[str, bool], heard: list[list[int]]) -> NDArray[np.int64]:
        """Window and name numbers that share a consonant key with some deleted and are of like length."""
        import numpy as np

        lengths = np.array([len(sound) for sound in self._sounds])
        found: list[NDArray[np.int64]] = []
        for some, deeply in (
            ([key for key in places if deep[key]], True),
            ([key for key in places if not deep[key]], False),
        ):
            codes, owners = _coded(some, deep=deeply)
            left = np.searchsorted(self._codes, codes, "left")
            right = np.searchsorted(self._codes, codes, "right")
            counts = right - left
            total = int(counts.sum())
            if not total:
                continue
            key = np.repeat(owners, counts)
            offset = np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts)
            name = self._owners[np.repeat(left, counts) + offset]
            both = np.unique(key.astype(np.int64) * len(self.names) + name)
            for number in range(0, len(both), 1_000_000):
                part = both[number : number + 1_000_000]
                found += _spread(part // len(self.names), part % len(self.names), some, places, heard, lengths)
        return np.unique(np.concatenate(found), axis=0) if found else np.zeros((0, 2), dtype=np.int64)


def merit(one: Candidate) -> float:
    """How much a candidate explains: phones of the name, each worth more the better it fits."""
    return one.phones * (MERIT - one.cost)


def _spread(
    key: NDArray[np.int64],
    name: NDArray[np.int64],
    keys: list[str],
    places: dict[str, list[int]],
    heard: list[list[int]],
    lengths: NDArray[np.int64],
) -> list[NDArray[np.int64]]:
    """Every window of a key with every name of it, where their numbers of phones allow it."""
    import numpy as np

    listed = [places[k] for k in keys]
    sizes = np.array([len(row) for row in listed])
    starts = np.cumsum(sizes) - sizes
    flat = np.array([window for row in listed for window in row], dtype=np.int64)
    counts = sizes[key]
    offset = np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)
    window = flat[np.repeat(starts[key], counts) + offset]
    named = np.repeat(name, counts)
    phones = np.array([len(row) for row in heard])
    ratio = phones[window] / lengths[named]
    fits = (ratio > 0.7) & (ratio < 1.4)
    return [np.stack([window[fits], named[fits]], axis=1)]


def _windows(
    tokens: Sequence[Token], taken: dict[int, Span], known: set[tuple[str, ...]]
) -> Iterable[tuple[int, int, bool]]:
    """Runs of words that deserve a look: some word in them is unsure or not among the commonest."""
    rare = [zipf(token.form) for token in tokens]
    for first, token in enumerate(tokens):
        if not token.form[:1].isalpha():
            continue
        for last in range(first + 1, min(len(tokens), first + LONGEST_WINDOW) + 1):
            if last - first > 1 and _parted(tokens[last - 2]):
                break
            if not tokens[last - 1].form[:1].isalpha():
                break
            if tuple(t.form for t in tokens[first:last]) in known:
                continue
            span = taken.get(first)
            if span is not None and span.first <= first and last <= span.last:
                continue
            least = min(t.word.probability for t in tokens[first:last])
            rarest = min(rare[first:last])
            if rarest < COMMON_ZIPF or least < UNSURE:
                yield first, last, least < UNSURE or rarest < RARE_ZIPF


def _parted(token: Token) -> bool:
    return token.after in (",", "?") or token.gap > LONGEST_BORDER_PAUSE_S


def _joined(keys: Sequence[str]) -> str:
    whole = ""
    for key in keys:
        whole += key[1:] if whole and key and whole[-1] == key[0] else key
    return whole


def _coded(keys: Sequence[str], *, deep: bool) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Every key with up to one or two symbols deleted, as sorted numbers, and which key each is of."""
    import numpy as np

    codes: list[NDArray[np.int64]] = [np.zeros(0, dtype=np.int64)]
    owners: list[NDArray[np.int64]] = [np.zeros(0, dtype=np.int64)]
    by_length: dict[int, list[int]] = {}
    for number, key in enumerate(keys):
        by_length.setdefault(min(len(key), LONGEST_SKELETON), []).append(number)
    for length, mine in by_length.items():
        letters = np.array([[_SYMBOLS.index(c) + 1 for c in keys[n][:length]] for n in mine], dtype=np.int64)
        most = 2 if deep and length >= DEEP_SKELETON else 1 if length >= SHORTEST_SKELETON else 0
        for gone in range(most + 1):
            for kept in itertools.combinations(range(length), length - gone):
                code = np.zeros(len(mine), dtype=np.int64)
                for place in kept:
                    code = code * 9 + letters[:, place]
                codes.append(code)
                owners.append(np.array(mine, dtype=np.int64))
    flat, owner = np.concatenate(codes), np.concatenate(owners)
    order = np.lexsort((owner, flat))
    return flat[order], owner[order]


def _odd(heard: Sequence[Token], name: tuple[str, ...], rare: float = COMMON_ZIPF) -> bool:
    """Whether some word that is not the name's own is unsure or rarer than ``rare``."""
    strange = [token for token in heard if token.form not in name and token.form.removesuffix("s") not in name]
    return any(token.word.probability < UNSURE or zipf(token.form) < rare for token in strange)


def _may_replace(
    first: int, last: int, name: tuple[str, ...], term: Term, taken: dict[int, Span], doubtful: bool
) -> bool:
    """Whether nothing that is there as written speaks against it: that goes only for a longer name, and in doubt."""
    for place in range(first, last):
        span = taken.get(place)
        if span is None:
            continue
        if span.first < first or span.last > last or span.last - span.first == last - first or not doubtful:
            return False
        if span.term.term == term.term:
            return False
        if span.last - span.first > 1 and span.term.term.casefold() not in " ".join(name):
            return False
    return True


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
