"""One sentence laid out for cues: words, clause borders, and its mentions as marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from episode.models import Kind
from episode.spotting.names import Span
from episode.spotting.patterns import ByWord, compiled, rows
from episode.spotting.stream import Token

FINDS = frozenset({Kind.OBJECT, Kind.WARE, Kind.FEATURE})
"""Kinds that can themselves be a find; the others are said of one."""
BREATH_S = 0.35
"""In captions without punctuation, a pause this long is a clause border."""


@dataclass(frozen=True, slots=True)
class Passage:
    """A sentence as cues see it.

    ``text`` is every word preceded by a space, `` |`` at clause borders, `` .`` or `` ?`` at the end, and
    `` <3o>`` for mention 3 (``o`` an object, ware or feature, ``x`` another kind; a further ``s``: plural).
    ``marks`` are the mentions' positions in it. ``bare`` is the same without marks and borders.
    """

    text: str
    marks: tuple[tuple[int, int], ...]
    bare: str


def passage(tokens: Sequence[Token], spans: Sequence[Span], first: int) -> Passage:
    """Lay out a sentence whose tokens begin at ``first`` of their clip; ``spans`` must not overlap each other."""
    punctuated = any(token.after for token in tokens)
    bare = "".join(f" {token.plain}" for token in tokens)
    breaks = _breaks(bare)
    parts: list[str] = []
    marks: list[tuple[int, int]] = []
    length = 0

    def put(piece: str) -> None:
        nonlocal length
        parts.append(piece)
        length += len(piece)

    inside = {place: number for number, span in enumerate(spans) for place in range(span.first, span.last)}
    for index, token in enumerate(tokens):
        number = inside.get(first + index)
        opens = number is not None and (index == 0 or inside.get(first + index - 1) != number)
        if index in breaks and parts and not parts[-1].startswith((" |", " .", " ?")) and (number is None or opens):
            put(" |")
        if number is None:
            put(f" {token.plain}")
        elif opens:
            span = spans[number]
            kind = "o" if span.term.kind in FINDS else "x"
            begin = length
            put(
                f" <{number}{kind}{'s' if span.plural or _plural(tokens[span.last - first - 1 : span.last - first]) else ''}>"
            )
            marks.append((begin, length))
        if number is not None and inside.get(first + index + 1) == number:
            continue
        if token.after:
            put(" |" if token.after == "," or (token.after == "." and index + 1 < len(tokens)) else f" {token.after}")
        elif not punctuated and token.gap >= BREATH_S:
            put(" |")
    return Passage(text="".join(parts), marks=tuple(marks), bare=bare)


def _plural(tokens: Sequence[Token]) -> bool:
    return bool(tokens) and tokens[-1].form.endswith("s") and not tokens[-1].form.endswith(("ss", "us", "is"))


def _breaks(bare: str) -> frozenset[int]:
    found: set[int] = set()
    for pattern in _break_patterns().among(set(bare.split())):
        for match in compiled(pattern).finditer(bare):
            found.add(bare.count(" ", 0, match.start()))
    return frozenset(found)


@cache
def _break_patterns() -> ByWord[str]:
    return ByWord((row["pattern"], row["pattern"]) for row in rows("stance.csv") if row["stance"] == "break")
