"""A catalogue's whole date field as one interval, as a museum's own years beside it are."""

from __future__ import annotations

from datetime import date

from episode.record.conventions import DEFAULT, convention_named
from episode.record.dates import read_dates
from episode.record.tokens import tokens
from episode.record.wordlists import wordlist


def catalogue_years(
    text: str, *, filmed: date | None = None, convention: str = DEFAULT
) -> tuple[int | None, int | None] | None:
    """Earliest to latest of every date in ``text``; ``None`` where there is none.

    Where the convention does not count later acts, what follows a word such as "cast" or "reprinted" in
    "1928, cast 1958" is of that act and is left out; a first date counts whatever stands before it.

    Raises:
        UnusableInput: there is no such convention.
    """
    spans = read_dates(text, filmed=filmed, convention=convention)
    if not spans:
        return None
    kept = list(spans)
    if not convention_named(convention).counts_later_acts:
        acts = [word.at for word in tokens(text[spans[0].until :]) if word.word in wordlist("later acts")]
        if acts:
            kept = [span for span in spans if span.at < spans[0].until + acts[0]]
    lows, highs = [span.from_ for span in kept], [span.to for span in kept]
    low = None if None in lows else min(low for low in lows if low is not None)
    high = None if None in highs else max(high for high in highs if high is not None)
    return low, high
