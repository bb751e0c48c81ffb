"""Names of periods and reigns, as they are said, and the years the record gives them."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import lru_cache

from episode.lexicon.resources import vocab_root
from episode.models import Fact
from episode.record.load import load_record, name_key
from episode.record.numbers import ordinal, roman
from episode.record.tokens import Token
from episode.record.wordlists import wordlist

_REGNAL = re.compile(r"^(?:king |queen |reign of )?([a-z]+) (i|ii|iii|iv|v|vi|vii|viii)$")
_ALONE = frozenset({"anne", "victoria", "stephen", "john", "jane"})


@dataclass(frozen=True, slots=True)
class Named:
    """A period or reign found at a token: ``end`` is the index after it."""

    fact: Fact
    end: int
    kind: str


@dataclass(frozen=True, slots=True)
class _Name:
    words: tuple[str, ...]
    fact: Fact
    needs: frozenset[str]
    never: frozenset[str]


def named_at(words: list[Token], at: int, *, sure: bool = False) -> Named | None:
    """The period or reign named at ``at``, the longest name first; ``sure`` takes a bare "Victoria" for her reign."""
    return _period(words, at) or _reign(words, at, sure=sure)


@lru_cache(maxsize=1)
def first_words() -> frozenset[str]:
    """Every word with which such a name can begin."""
    return frozenset(_periods()) | frozenset(_reigns()) | {"king", "queen", "reign"}


@lru_cache(maxsize=1)
def second_words() -> dict[str, frozenset[str]]:
    """First word of a name to the words that can follow it there; ``""`` among them where it may be the only one."""
    found: dict[str, set[str]] = {name: {""} for name in _reigns()}
    for first, names in _periods().items():
        for name in names:
            whole = len(name.words) == 1 or first != name.words[0]
            found.setdefault(first, set()).add("" if whole else name.words[1])
    return {first: frozenset(seconds) for first, seconds in found.items()}


def _period(words: list[Token], at: int) -> Named | None:
    for name in _periods().get(words[at].word, ()):
        end = _said(words, at, name.words)
        if not end:
            continue
        following = words[end].word if end < len(words) else ""
        if name.needs and following not in name.needs:
            continue
        if following in name.never:
            continue
        return Named(name.fact, end, "period")
    return None


def _said(words: list[Token], at: int, wanted: tuple[str, ...]) -> int:
    """The index after ``wanted`` said at ``at`` (a hyphen may stand between words), else 0."""
    here = at
    for position, word in enumerate(wanted):
        if position and here < len(words) and words[here].word == "-":
            here += 1
        if here >= len(words):
            return 0
        if words[here].word == word:
            here += 1
        elif here + 1 < len(words) and words[here].word + words[here + 1].word == word and words[here + 1].close:
            here += 2
        else:
            return 0
    return here


def _reign(words: list[Token], at: int, *, sure: bool = False) -> Named | None:
    here = at
    if words[here].word == "reign" and here + 1 < len(words) and words[here + 1].word == "of":
        here, sure = here + 2, True
    title = ""
    if here < len(words) and words[here].word in {"king", "queen"}:
        title, here = words[here].word, here + 1
    if here >= len(words):
        return None
    pair = _pair(words, here)
    if pair:
        return pair
    numbered = _reigns().get(words[here].word)
    if not numbered:
        return None
    number, end = _regnal_number(words, here + 1, sure)
    fact = numbered.get(number)
    if fact is None:
        return None
    possessive = end < len(words) and words[end].word == "'s"
    if possessive and end + 1 < len(words) and words[end + 1].word in {"reign", "time", "day"}:
        return Named(fact, end + 2, "reign")
    if number == 0 and not (sure or title):
        return None
    return Named(fact, end, "reign")


def _pair(words: list[Token], at: int) -> Named | None:
    said = " ".join(w.word for w in words[at : at + 3])
    fact = load_record().reigns.get(said) if " and " in said else None
    return Named(fact, at + 3, "reign") if fact else None


def _regnal_number(words: list[Token], at: int, sure: bool) -> tuple[int, int]:
    if at < len(words):
        token = words[at]
        following = words[at + 1] if at + 1 < len(words) else None
        if token.word == "the":
            found = ordinal(words, at + 1)
            if found and not (found[1] < len(words) and words[found[1]].word in {"century", "centuries"}):
                return found
        number = roman(token)
        if number and not token.close:
            if number > 1 and not (number == 5 and token.raw == "v"):
                return number, at + 1
            spoken_i = token.raw == "i" or (
                following is not None and (following.word in wordlist("after i") or following.word == "'")
            )
            if number == 5 or not spoken_i or sure:
                return number, at + 1
        if token.digits == 1 and token.value:
            end = (
                at + 2
                if following is not None and following.close and following.word in {"st", "nd", "rd", "th"}
                else 0
            )
            if end:
                return token.value, end
    return 0, at


@lru_cache(maxsize=1)
def _periods() -> dict[str, tuple[_Name, ...]]:
    facts = load_record().periods
    path = vocab_root().joinpath("record").joinpath("period_names.csv")
    names: dict[str, list[_Name]] = {}
    for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
        fact = facts.get(name_key(row["about"]))
        if fact is None:
            continue
        said = tuple(row["name"].split())
        name = _Name(said, fact, _list(row["needs"]), _list(row["never"]))
        names.setdefault(said[0], []).append(name)
        glued = re.match(r"^(ww|wwi|wwii)(\d)?$", said[0])
        if glued and glued.group(2):
            names.setdefault(glued.group(1), []).append(name)
    return {first: tuple(sorted(found, key=lambda n: -len(n.words))) for first, found in names.items()}


def _list(cell: str) -> frozenset[str]:
    return frozenset(word.strip() for word in (cell or "").split(";") if word.strip())


@lru_cache(maxsize=1)
def _reigns() -> dict[str, dict[int, Fact]]:
    """Regnal name to number to fact; number 0 where the name may stand without one."""
    found: dict[str, dict[int, Fact]] = {}
    for key, fact in load_record().reigns.items():
        match = _REGNAL.match(key)
        if match:
            token = Token(match.group(2), match.group(2), 0, 0, False)
            found.setdefault(match.group(1), {})[roman(token) or 0] = fact
        elif key.split()[-1] in _ALONE and len(key.split()) <= 2:
            found.setdefault(key.split()[-1], {})[0] = fact
    return found
