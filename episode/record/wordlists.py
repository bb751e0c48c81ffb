"""Small lists of everyday words that tell a date from a count; kept as data so that anyone can extend them."""

from __future__ import annotations

import csv
from functools import lru_cache

from episode.lexicon.resources import vocab_root


def wordlist(name: str) -> frozenset[str]:
    """The words of one list of ``vocab/record/date_words.csv``, in lower case.

    Raises:
        KeyError: there is no list of that name.
    """
    return _lists()[name]


@lru_cache(maxsize=1)
def _lists() -> dict[str, frozenset[str]]:
    path = vocab_root().joinpath("record").joinpath("date_words.csv")
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return {row["list"]: frozenset(row["words"].split()) for row in rows}
