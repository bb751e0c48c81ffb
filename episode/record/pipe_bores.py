"""Clay pipe stems dated by their bores: Binford's line through Harrington's figures."""

from __future__ import annotations

import csv
import re
from functools import lru_cache

from episode.errors import UnusableInput
from episode.lexicon.resources import vocab_root
from episode.record import edtf_out
from episode.record.reading import Mark

INTERCEPT, SLOPE = 1931.85, 38.26
"""Binford 1962: year = 1931.85 - 38.26 x mean bore in 64ths of an inch."""
WORKS = (1680, 1760)
FAILS_AFTER = 1780
FEWEST = 30
"""Fewer stems than this give a mean that one more stem can move by decades (common practice, no source)."""
_SOURCE = "Binford 1962, year = 1931.85 - 38.26 x mean bore in 64ths of an inch, after Harrington 1954"


def read_bores(text: str) -> Mark:
    """The mean date of a group of stems: ``4:22 5:42 6:6`` is 22 of 4/64, 42 of 5/64 and 6 of 6/64 inch.

    Raises:
        UnusableInput: a pair that is no bore and count, or bores that no pipe has.
    """
    counts: dict[int, int] = {}
    for part in re.split(r"[\s,;]+", text.strip()):
        match = re.fullmatch(r"(\d{1,2})(?:/64)?[:x×=](\d{1,6})", part)
        if match is None or not 3 <= int(match.group(1)) <= 12:
            raise UnusableInput(
                "is no bore in 64ths of an inch and a count", where=part[:40], remedy="Write them as 4:22 5:42 6:6."
            )
        bore = int(match.group(1))
        counts[bore] = counts.get(bore, 0) + int(match.group(2))
    total = sum(counts.values())
    if not total:
        raise UnusableInput("counts no stems", where=text.strip()[:40], remedy="Write them as 4:22 5:42 6:6.")
    mean = sum(bore * count for bore, count in counts.items()) / total
    year = round(INTERCEPT - SLOPE * mean)
    return Mark(
        kind="pipe stem bores",
        text=f"pipes {text.strip()}",
        says=f"{total} stems, mean bore {mean:.2f}/64 inch: about {year}",
        from_=year,
        to=year,
        edtf=edtf_out.year(year, "~"),
        source=_SOURCE,
        cautions=tuple(_cautions(counts, total, year)),
    )


def _cautions(counts: dict[int, int], total: int, year: int) -> list[str]:
    said = ["It is a mean for the group, not the date of any one stem."]
    if year > FAILS_AFTER:
        said.insert(0, f"The formula fails after {FAILS_AFTER}: do not use this year.")
    elif not WORKS[0] <= year <= WORKS[1]:
        said.insert(0, f"The formula works for about {WORKS[0]} to {WORKS[1]}; this lies outside.")
    if total < FEWEST:
        said.append(f"Only {total} stems: too few for a mean to rest on.")
    most = max(counts.values())
    for bore in sorted(b for b, count in counts.items() if count == most):
        row = _ranges().get(bore)
        if row:
            note = f"; {row['note']}" if row["note"] else ""
            said.append(
                f"Most are {bore}/64 inch, which the table has at {row['from']} to {row['to']} ({row['source']}{note})."
            )
    return said


@lru_cache(maxsize=1)
def _ranges() -> dict[int, dict[str, str]]:
    path = vocab_root().joinpath("record").joinpath("pipe_bores.csv")
    return {int(r["bore_64ths"]): r for r in csv.DictReader(path.read_text(encoding="utf-8").splitlines())}
