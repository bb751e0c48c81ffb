"""Names that the recogniser spelt otherwise: "hypocostile", "western old stoneware".

Candidates come from a key of consonant classes in which sounds that recognisers confuse are one (as in
Soundex and Metaphone, coarser than the latter), looked up with one deletion on either side (the symmetric
delete method of Garbe 2012), so that the cost hardly grows with the vocabulary. Each is then compared by
letters and by key. What decides is where the words are odd: nonsense words are readily replaced, rare
words less so, ordinary words only on strong evidence, and names of few sounds never.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cache

from rapidfuzz.fuzz import ratio

from episode.models import How, Term
from episode.spotting.everyday import zipf
from episode.spotting.names import LONGEST_BORDER_PAUSE_S, Names, Span
from episode.spotting.stream import Token

SHORTEST_LETTERS = 7
SHORTEST_KEY = 4
SHORTEST_REST = 5
"""Letters that must differ from an ordinary word's when the other words of a name are there as written."""
LONGEST_WINDOW = 5
NONSENSE_ZIPF = 2.3
RARE_ZIPF = 4.0
NEEDED_NONSENSE = 0.74
NEEDED_RARE = 0.93
NEEDED_ORDINARY = 0.91
WIDER = 0.02
"""A word more that a name explains counts this much when two near spellings overlap."""
ANCHOR = 0.06
"""What is needed is less by this where a further, uncommon word of the name is there as written."""

_STOPS = frozenset(
    "the a an and of this that it is in to i my on at we you he she they so but or as if was were be with for not "
    "its thats no do me us our your one have has had got like just there here these those what oh".split()
)
_COUNTS = frozenset("two three four five six seven eight nine ten".split())
_DIGRAPHS = (
    ("tch", "S"), ("sch", "S"), ("tion", "SN"), ("sion", "SN"), ("ture", "SR"), ("ght", "T"), ("gh", ""), ("ph", "F"),
    ("th", "T"), ("sh", "S"), ("ch", "S"), ("ck", "K"), ("qu", "K"), ("wr", "R"), ("wh", "W"), ("kn", "N"), ("gn", "N"),
    ("dg", "S"), ("mb", "MB"), ("x", "KS"),
)  # fmt: skip
_SINGLE = {
    "b": "P", "p": "P", "d": "T", "t": "T", "g": "K", "k": "K", "q": "K", "f": "F", "v": "F", "s": "S", "z": "S",
    "j": "S", "m": "M", "n": "N", "l": "L", "r": "R", "c": "K", "w": "W",
}  # fmt: skip
_SUFFIXES = ("ed", "d", "ing", "er", "ers", "ly", "y", "ish", "less", "ful", "able", "like", "n", "en")


class Near:
    """The names of a lexicon, ready to be looked for by sound and spelling."""

    def __init__(self, names: Names) -> None:
        self._names: list[tuple[tuple[str, ...], str, Term]] = []
        self._index: dict[str, list[int]] = {}
        self._anchored: dict[tuple[str, str], list[int]] = {}
        self._known = {tokens for tokens, _, _ in names.listed}
        for tokens, term, how in names.listed:
            joined = "".join(tokens)
            key = sound_key(joined)
            if how is How.MISHEARING or len(joined) < SHORTEST_LETTERS or len(key) < SHORTEST_KEY:
                continue
            self._names.append((tokens, key, term))
            if len(tokens) > 1:
                for anchor, word in (((tokens[0], ""), tokens[0]), (("", tokens[-1]), tokens[-1])):
                    if len(word) >= SHORTEST_REST and zipf(word) < RARE_ZIPF:
                        self._anchored.setdefault(anchor, []).append(len(self._names) - 1)
            for reduced in _deletes(key):
                self._index.setdefault(reduced, []).append(len(self._names) - 1)

    def find(self, tokens: Sequence[Token], exact: Iterable[Span]) -> list[Span]:
        """Near spellings that no exact mention speaks against; they do not overlap each other."""
        taken: dict[int, Span] = {place: span for span in exact for place in range(span.first, span.last)}
        keys = [sound_key(token.form) for token in tokens]
        found: list[Span] = []
        for first, token in enumerate(tokens):
            if token.form in _STOPS or not token.form.isalpha():
                continue
            key = ""
            for last in range(first + 1, min(len(tokens), first + LONGEST_WINDOW) + 1):
                if last - first > 1 and _parted(tokens[last - 2]):
                    break
                key = _squeeze(key + keys[last - 1])
                if len(key) < SHORTEST_KEY - 1 or tokens[last - 1].form in _STOPS:
                    continue
                found.extend(self._judge(tokens, first, last, key, taken))
        return _best(found)

    def _judge(self, tokens: Sequence[Token], first: int, last: int, key: str, taken: dict[int, Span]) -> list[Span]:
        window = tuple(token.form for token in tokens[first:last])
        letters = sum(map(len, window))
        candidates = {number for reduced in _deletes(key) for number in self._index.get(reduced, ())}
        if len(window) > 1:
            # A further, uncommon word of the name as written leads to it whatever the rest sounds like.
            candidates.update(self._anchored.get((window[0], ""), ()), self._anchored.get(("", window[-1]), ()))
        found: list[Span] = []
        for number in sorted(candidates):
            name, name_key, term = self._names[number]
            if window[0] in _COUNTS and name[0] != window[0]:
                continue  # "two pinches" counts something; it is no single name
            if key[0] != name_key[0] and window[0] != name[0]:
                continue
            if not 0.65 < letters / sum(map(len, name)) < 1.5:
                continue
            if window in self._known or not _may_replace(first, last, name, term, taken):
                continue
            likeness = _likeness(window, key, name, name_key)
            if likeness is not None:
                found.append(Span(first, last, term, How.NEAR_SPELLING, round(likeness, 3)))
        return found


@cache
def sound_key(word: str) -> str:
    """The consonants of a word by class, vowels and silent letters dropped."""
    out: list[str] = []
    at = 0
    while at < len(word):
        for letters, classes in _DIGRAPHS:
            if word.startswith(letters, at):
                out.append(classes)
                at += len(letters)
                break
        else:
            letter = word[at]
            following = word[at + 1 : at + 2]
            if letter == "c" and following in ("e", "i", "y"):
                out.append("S")
            elif letter in "rw" and following not in tuple("aeiouy"):
                # As in southern British speech: heard only before a vowel.
                pass
            else:
                out.append(_SINGLE.get(letter, ""))
            at += 1
    return _squeeze("".join(out))


@cache
def _squeeze(key: str) -> str:
    return re.sub(r"(.)\1+", r"\1", key)


def _deletes(key: str) -> set[str]:
    return {key, *(key[:i] + key[i + 1 :] for i in range(len(key)))}


def _parted(token: Token) -> bool:
    return token.after in (",", "?") or token.gap > LONGEST_BORDER_PAUSE_S


def _may_replace(first: int, last: int, name: tuple[str, ...], term: Term, taken: dict[int, Span]) -> bool:
    for place in range(first, last):
        span = taken.get(place)
        if span is None:
            continue
        if span.first < first or span.last > last or span.last - span.first == last - first:
            return False
        if span.term.term == term.term:
            return False
        # What is there as written goes only for a longer name; a long name as written stays.
        if span.last - span.first > 1 and span.term.term.casefold() not in " ".join(name):
            return False
    return True


def _likeness(window: tuple[str, ...], key: str, name: tuple[str, ...], name_key: str) -> float | None:
    left = 0
    while left < min(len(window), len(name)) - 1 and _same(window[left], name[left]):
        left += 1
    right = 0
    while right < min(len(window), len(name)) - left - 1 and _same(window[-1 - right], name[-1 - right]):
        right += 1
    said, meant = window[left : len(window) - right], name[left : len(name) - right]
    letters, wanted = "".join(said), "".join(meant)
    anchored = len(said) < len(window)
    if anchored:
        key, name_key = sound_key(letters), sound_key(wanted)
    if (
        len(wanted) < SHORTEST_REST
        or len(letters) < SHORTEST_REST - 1
        or (len(said) == len(meant) == 1 and _derived(letters, wanted))
    ):
        return None
    if key[:1] != name_key[:1] or (letters[0] in "aeiouh") != (wanted[0] in "aeiouh"):
        return None
    singular = letters[:-1] if letters.endswith("s") and not wanted.endswith("s") else letters
    likeness = 0.55 * ratio(singular, wanted) / 100 + 0.45 * _key_ratio(key, name_key) / 100
    common = min((zipf(word) for word in said), default=0.0)
    needed = NEEDED_NONSENSE if common < NONSENSE_ZIPF else NEEDED_RARE if common < RARE_ZIPF else NEEDED_ORDINARY
    if len(said) > 1 and common >= NONSENSE_ZIPF:
        # Several real words that together sound like a name are less of a chance than one.
        needed -= 0.04
    if anchored:
        others = [*window[:left], *window[len(window) - right :]]
        needed -= ANCHOR if min(zipf(word) for word in others) < RARE_ZIPF else ANCHOR / 2
    return likeness if likeness >= needed else None


def _key_ratio(key: str, name_key: str) -> float:
    plain = ratio(key, name_key)
    return max(plain, ratio(key[:-1], name_key)) if key.endswith("S") and not name_key.endswith("S") else plain


def _same(said: str, meant: str) -> bool:
    return said in (meant, meant + "s") or said + "s" == meant


def _derived(letters: str, wanted: str) -> bool:
    """Whether one is the other with an ending, so that the recogniser may well have meant it ("buckled")."""
    for a, b in ((letters, wanted), (wanted, letters)):
        stem = b.removesuffix("e")
        if a.startswith(stem) and a[len(stem) :] in (*_SUFFIXES, "s", "es", "ery", "age", "ist", "ism"):
            return True
        if a.startswith(b) and a[len(b) :] in _SUFFIXES:
            return True
    return False


def _best(found: list[Span]) -> list[Span]:
    kept: list[Span] = []
    for span in sorted(found, key=lambda s: (-s.likeness - WIDER * (s.last - s.first), s.first, s.term.term)):
        if all(span.last <= other.first or other.last <= span.first for other in kept):
            kept.append(span)
    return sorted(kept, key=lambda s: s.first)
