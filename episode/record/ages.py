"""Ages: "three hundred years old", "over two centuries ago"."""

from __future__ import annotations

from dataclasses import dataclass

from episode.record.numbers import cardinal
from episode.record.tokens import Token

YOUNGEST = 50
"""Smaller ages are nearly always a person's, a memory's or a shop's."""
OLDEST = 12_000

_MORE = (("over",), ("more", "than"), ("at", "least"), ("upwards", "of"), ("well", "over"), ("in", "excess", "of"))
_LESS = (("under",), ("less", "than"), ("not", "even"), ("fewer", "than"), ("no", "more", "than"), ("up", "to"))
_NEAR = (("almost",), ("nearly",), ("getting", "on", "for"), ("close", "to"), ("the", "best", "part", "of"))
_SCALE = {"year": 1, "years": 1, "yr": 1, "yrs": 1, "century": 100, "centuries": 100, "decades": 10, "millennia": 1000}
FIRST_WORDS = frozenset(words[0] for words in (*_MORE, *_LESS, *_NEAR))


@dataclass(frozen=True, slots=True)
class Age:
    """An age in years, with half of the last place said as its give; ``bound`` is ``more``, ``less`` or empty."""

    years: int
    give: int
    bound: str
    end: int


def age_at(words: list[Token], at: int) -> Age | None:
    """The age at ``at``; the number may be in words, and must be followed by years (or centuries) old or ago."""
    bound = ""
    for name, choices in (("more", _MORE), ("less", _LESS), ("", _NEAR)):
        for choice in choices:
            if tuple(w.word for w in words[at : at + len(choice)]) == choice:
                at, bound = at + len(choice), name
                break
        else:
            continue
        break
    number = _count(words, at)
    if number is None:
        return None
    value, end = number
    if end < len(words) and words[end].word == "-":
        end += 1
    if end < len(words) and words[end].word == "or" and end + 1 < len(words) and words[end + 1].word == "so":
        end += 2
    scale = _SCALE.get(words[end].word) if end < len(words) else None
    if scale is None:
        return None
    end += 1
    if end < len(words) and words[end].word == "-":
        end += 1
    if (
        end < len(words)
        and words[end].word in {"or"}
        and end + 1 < len(words)
        and words[end + 1].word in {"so", "more"}
    ):
        bound = "more" if words[end + 1].word == "more" else bound
        end += 2
    if end >= len(words) or words[end].word not in {"old", "ago"}:
        return None
    if words[end].word == "old" and tuple(w.word for w in words[end + 1 : end + 3]) in {
        ("or", "more"),
        ("or", "older"),
    }:
        bound, end = "more", end + 2
    after = _idiom(words, end + 1)
    if words[end].word == "old" and after:
        bound, end = "more", after - 1
    years = value * scale
    if not YOUNGEST <= years <= OLDEST:
        return None
    return Age(years, _give(value, scale), bound, end + 1)


_AT_LEAST = (("if", "it", "'s", "a", "day"), ("if", "its", "a", "day"), ("if", "it", "is", "a", "day"))


def _idiom(words: list[Token], at: int) -> int | None:
    """Where "if it's a day" ends, which means that it is surely as old as that."""
    for choice in _AT_LEAST:
        if tuple(w.word for w in words[at : at + len(choice)]) == choice:
            return at + len(choice)
    return None


def years_at(words: list[Token], at: int) -> Age | None:
    """A stretch of years at ``at`` ("a hundred years", "two centuries"), with half of its last place as its give."""
    number = _count(words, at)
    if number is None or number[1] >= len(words):
        return None
    value, end = number
    scale = _SCALE.get(words[end].word)
    if scale is None or not 1 <= value * scale <= OLDEST:
        return None
    return Age(value * scale, _give(value, scale), "", end + 1)


def _count(words: list[Token], at: int) -> tuple[int, int] | None:
    if at + 2 < len(words) and words[at].word == "a" and words[at + 1].word == "couple":
        here = at + 3 if words[at + 2].word == "of" else at + 2
        if here < len(words) and words[here].word in {"hundred", "thousand"}:
            return (200 if words[here].word == "hundred" else 2000), here + 1
        return 2, here
    if at < len(words) and words[at].close and at and words[at - 1].word in {".", ","}:
        return None
    if at + 1 < len(words) and words[at].word == "a" and words[at + 1].word in {"century", "millennium"}:
        return 1, at + 1
    return cardinal(words, at)


def _give(value: int, scale: int) -> int:
    years = value * scale
    if scale > 1:
        return scale // 2
    for step in (1000, 100, 50, 10):
        if years % step == 0:
            return step // 2
    return 0
