"""Cue phrases from ``vocab/rules/claim_cues.csv``: what a date is of, and what makes a sentence no claim."""

from __future__ import annotations

import csv
import re
from functools import lru_cache

from episode.lexicon.resources import vocab_root


def says(cue: str, text: str) -> bool:
    """Whether any phrase of the list ``cue`` stands in ``text`` as whole words, whatever the capitals."""
    return bool(pattern(cue).search(text))


def nearest(cue: str, text: str, at: int) -> int | None:
    """The distance in characters from ``at`` to the nearest phrase of the list, or ``None``."""
    gaps = [min(abs(m.start() - at), abs(m.end() - at)) for m in pattern(cue).finditer(text)]
    return min(gaps, default=None)


def phrases(cue: str) -> tuple[str, ...]:
    """The phrases of the list ``cue``, as they stand in the file."""
    return _lists()[cue]


@lru_cache(maxsize=64)
def pattern(cue: str) -> re.Pattern[str]:
    """The list as one compiled pattern, longest phrase first.

    Raises:
        KeyError: there is no list of that name.
    """
    phrases = sorted(_lists()[cue], key=len, reverse=True)
    alternatives = "|".join(re.escape(p).replace("'", "['’]") for p in phrases)
    return re.compile(rf"(?<![\w'’])(?:{alternatives})(?![\w])", re.IGNORECASE)


@lru_cache(maxsize=1)
def _lists() -> dict[str, tuple[str, ...]]:
    path = vocab_root().joinpath("rules").joinpath("claim_cues.csv")
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return {row["list"]: tuple(p.strip() for p in row["phrases"].split(";") if p.strip()) for row in rows}
