"""The words without which nothing is a date, found in one pass, so that everything else costs next to nothing."""

from __future__ import annotations

from collections.abc import Iterator

from episode.record.names import second_words
from episode.record.numbers import DECADES, ORDINAL_TEENS, TEENS, TENS, ZERO
from episode.record.tokens import Token
from episode.record.wordlists import wordlist

REACH = 30
"""A phrase begins at most this many tokens before its first anchor: a lead of eight, a partial, a join, a part."""
_WORDS = frozenset(
    ["century", "centuries", "cent", "centry", "thousand", "ad", "bc", "bce", "ce", "bp", "old", "ago", "king", "queen"]
)
_SECOND_HALVES = frozenset({*TEENS, *TENS, *DECADES, *ZERO, "hundred", "hundreds"})
_ENDINGS = frozenset({"st", "nd", "rd", "th"})


def anchors(words: list[Token]) -> Iterator[int]:
    """Indices, rising, of tokens of which every date phrase holds one.

    A number of four digits, the first half of a year said in two, a word for a century, an era or an age, a
    name of a period or reign. Most talk has none.
    """
    names = second_words()
    last = len(words) - 1
    for at, token in enumerate(words):
        if token.word in _WORDS or token.word in ORDINAL_TEENS:
            yield at
        elif token.word in names:
            if _named(words, at, names[token.word]):
                yield at
        elif token.digits:
            if token.digits == 4 or (token.digits == 2 and at < last and (_second_half(words, at) or _th(words, at))):
                yield at
        elif token.word in TEENS or token.word == "twenty":
            if at < last and _second_half(words, at):
                yield at
        elif len(token.word) == 1 and _letter(words, at):
            yield at


def _named(words: list[Token], at: int, seconds: frozenset[str]) -> bool:
    """Whether a name can stand here: one of one word, or its second word follows."""
    if "" in seconds:
        return True
    here = at + 1
    if here < len(words) and words[here].word == "-":
        here += 1
    return here < len(words) and words[here].word in seconds


def _second_half(words: list[Token], first: int) -> bool:
    """Figures after figures are a year only after a word such as "in", or as a decade ("nineteen 20s")."""
    at = first + 1
    if words[at].word == "-" and at + 1 < len(words):
        at += 1
    if words[at].digits != 2:
        return words[at].word in _SECOND_HALVES
    if not words[first].digits or (at + 1 < len(words) and words[at + 1].word in {"s", "'s"}):
        return True
    return at == first + 1 and first > 0 and words[first - 1].word in wordlist("date")


def _th(words: list[Token], at: int) -> bool:
    """An ordinal, which after "late" needs no century."""
    return words[at + 1].close and words[at + 1].word in _ENDINGS


def _letter(words: list[Token], at: int) -> bool:
    """The beginning of a dotted era ("A.D."), or the C of a century ("18th C", "C18")."""
    word, after = words[at].word, words[at + 1] if at + 1 < len(words) else None
    if after and word in {"a", "b", "c"} and after.word == "." and after.close:
        return True
    if word != "c":
        return False
    return bool(after and after.digits == 2) or (
        at > 0 and (words[at - 1].digits > 0 or words[at - 1].word in _ENDINGS)
    )
