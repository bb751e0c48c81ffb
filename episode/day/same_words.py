"""How alike what was said is to what a decision quotes, whichever recogniser wrote it down."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

ALIKE = 75.0
"""From here on (0 to 100) two transcriptions may be of the same words, at the same place."""
SURELY_ALIKE = 85.0
"""From here on they are, wherever they stand. Both are estimates of the author, no source."""


def likeness(one: str, other: str, least: float = 0.0) -> float:
    """0 to 100: the normalised edit similarity of two quotes, case and marks aside; 0 where below ``least``."""
    from rapidfuzz import fuzz

    a, b = plain(one), plain(other)
    return fuzz.ratio(a, b, score_cutoff=least) if a and b else 0.0


@lru_cache(maxsize=20_000)
def plain(text: str) -> str:
    """Words in lower case without marks."""
    from rapidfuzz import utils

    return " ".join(utils.default_process(text).split())


def most_alike(quote: str, among: Iterable[str], least: float = 0.0) -> float:
    """The greatest likeness of ``quote`` to any of these; 0 where none reaches ``least``."""
    return max((likeness(quote, other, least) for other in among), default=0.0)
