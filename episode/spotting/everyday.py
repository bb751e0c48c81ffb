"""Everyday senses: "pin down a date" names no pin.

Rules are data (``vocab/spotting/everyday.csv``): an ``everyday`` row takes a mention away, a ``find`` row
is talk that makes the trade's sense likely. A short everyday name counts only with such support.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

from episode.models import Kind
from episode.spotting.names import Span
from episode.spotting.passage import FINDS, Passage
from episode.spotting.patterns import ByWord, compiled, rows
from episode.spotting.stream import Token

VERY_COMMON_ZIPF = 5.0
COMMON_ZIPF = 4.0
"""wordfreq's Zipf scale: 4 is ten uses in a million words."""

_NOUNED = re.compile(
    r" (?:a|an|the|some|any|one|two|three|four|five|six|ten|dozen|another|this|that|these|those|my|our|its|his|her|"
    r"their|of|no|and|or|with|without|old|little|tiny|small|big|lovely|nice|beautiful|broken|complete|nother|half|"
    r"many|more|few|in|like|not|for|is|got|found|than)\Z"
)

_DESCRIBED = re.compile(r" (?:a|an|the|another|this|that|my|our|its|his|her|some|two|three)(?: [a-z]+){1,2}\Z")
_FRAGMENT = re.compile(
    r"(?: (?:oh|ah|ooh|yes|and|now|right|well|just|only|erm|er|um|\|))*"
    r"(?: (?:a|an|another|two|three|four|five|six|some|one|half|more))(?: [a-z]+){0,2} <\d+[ox]s?>"
    r"(?: [.?|]|\Z| (?:in|on|with|here|from|of|but|and|that|just)\b)"
)
"""A sentence that begins with the thing itself and has no verb for it: "A button..."."""


@cache
def zipf(word: str) -> float:
    """How common an English word is, on wordfreq's Zipf scale; 0 where it is not known."""
    from wordfreq import zipf_frequency

    return float(zipf_frequency(word, "en"))


def is_everyday(span: Span, forms: tuple[str, ...]) -> bool:
    """Whether the words said are an everyday name: the term says so, or one common word."""
    if len(forms) != 1:
        return False
    if span.term.kind in (Kind.PERIOD, Kind.MAKER, Kind.PLACE) and not span.term.everyday:
        return False
    return span.term.everyday or zipf(forms[0]) >= COMMON_ZIPF


def everyday_use(forms: tuple[str, ...], laid: Passage, *, everyday: bool) -> str | None:
    """Why the one mention that ``laid`` marks is an everyday use, or ``None``."""
    for name in (" ".join(forms), *_singulars(forms), *(("*",) if everyday else ())):
        for pattern, why in _rules().get(name, ()):
            if compiled(pattern).search(laid.text):
                return why
    if everyday and (_verb_like(laid) or (zipf(forms[-1]) >= VERY_COMMON_ZIPF and not _as_noun(laid))):
        return "not used as a noun"
    return None


def support(laid: Passage, around: Sequence[Passage], others: Sequence[Span], number: int) -> float:
    """How much the talk speaks for the trade's sense: 0 none, 1 enough."""
    score = 1.0 if _FRAGMENT.match(laid.text) else 0.0
    if _of_finds(laid):
        score += 1.0
    elif any(_of_finds(near) for near in around):
        score += 0.5
    for index, other in enumerate(others):
        if index != number:
            score += 0.6 if other.term.kind in FINDS or other.term.kind is Kind.MATERIAL else 0.5
    return score


def _of_finds(laid: Passage) -> bool:
    return any(compiled(pattern).search(laid.text) for pattern in _find_talk().among(set(laid.text.split())))


def _as_noun(laid: Passage) -> bool:
    before = laid.text[: laid.marks[0][0]]
    return not before or before.endswith((" |", ">")) or bool(_NOUNED.search(before) or _DESCRIBED.search(before))


def _verb_like(laid: Passage) -> bool:
    start, end = laid.marks[0]
    before, after = laid.text[:start], laid.text[end:]
    if not before or before.endswith((" |", " .", " ?")):
        return bool(re.match(r" (?:it|the|them|this|that|me|you|your|my|up|down|to|in|out|on|off)\b", after))
    if before.endswith(">") or _NOUNED.search(before):
        return False
    return bool(re.match(r" (?:it|the|them|this|that|me|you|your|my|up|down|off)\b", after))


def _singulars(forms: tuple[str, ...]) -> tuple[str, ...]:
    last = forms[-1]
    return (" ".join((*forms[:-1], last[:-1])),) if last.endswith("s") and len(last) > 3 else ()


@cache
def _rules() -> dict[str, tuple[tuple[str, str], ...]]:
    found: dict[str, list[tuple[str, str]]] = {}
    for row in rows("everyday.csv"):
        if row["sense"] == "everyday":
            found.setdefault(row["name"], []).append((row["pattern"], row["why"]))
    return {name: tuple(listed) for name, listed in found.items()}


@cache
def _find_talk() -> ByWord[str]:
    return ByWord((row["pattern"], row["pattern"]) for row in rows("everyday.csv") if row["sense"] == "find")


def forms_of(span: Span, tokens: Sequence[Token]) -> tuple[str, ...]:
    """The words of a span as compared."""
    return tuple(token.form for token in tokens[span.first : span.last])
