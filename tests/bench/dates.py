"""How far the date reader agrees with a museum's own years, and how fast it is.

    python -m tests.bench.dates

Tate's catalogue (CC0): date phrases with the first and last year that the museum gave them. Its rule for circa
adds nothing, so it is read by the convention that says the same (yearspans); the default, Historic England with
Object ID's ten years, is printed beside it. Works are the museum's counts of objects with the phrase.
"""

from __future__ import annotations

import csv
import time
from collections import Counter
from datetime import date
from pathlib import Path

from episode.record.dates import read_dates

DATA = Path(__file__).parents[1] / "data" / "tate_date_phrases.csv"
SPOKEN = (
    "eighteen seventy-two",
    "late 17th into the early 18th century",
    "about 1780",
    "it was made in the seventeen eighties i think",
    "three hundred years old",
    "Charles the Second",
    "I walked two miles and found twenty of them",
    "nothing with a date in it at all",
)
FILMED = date(2026, 5, 3)


def main() -> None:
    """Print agreement and speed."""
    with DATA.open(encoding="utf-8") as stream:
        rows = [row for row in csv.DictReader(stream) if row["from"] and row["to"]]
    print(f"{len(rows)} phrases with years, {sum(int(r['works']) for r in rows)} works")
    for convention in ("yearspans", "historic-england"):
        agreement(rows, convention)
    speed()


def agreement(rows: list[dict[str, str]], convention: str) -> None:
    """Exact, inside, nothing read: by phrase and by work; the commonest shapes of what differs."""
    phrases: Counter[str] = Counter()
    works: Counter[str] = Counter()
    differing: Counter[str] = Counter()
    for row in rows:
        spans = read_dates(row["phrase"], convention=convention)
        outcome = judge(spans, int(row["from"]), int(row["to"]))
        phrases[outcome] += 1
        works[outcome] += int(row["works"])
        if outcome != "exact":
            got = [(s.from_, s.to) for s in spans]
            differing[f"{row['phrase']!r}: museum {row['from']} to {row['to']}, read {got}"] += int(row["works"])
    total, weight = sum(phrases.values()), sum(works.values())
    print(f"\n{convention}")
    for outcome in ("exact", "one end", "overlaps", "apart", "nothing read"):
        print(f"  {outcome:13} {phrases[outcome] / total:6.1%} of phrases  {works[outcome] / weight:6.1%} of works")
    for line, count in differing.most_common(8):
        print(f"    {count:5} {line}")


def judge(spans: tuple, first: int, last: int) -> str:
    """The whole phrase's years, earliest to latest of what was read, against the museum's."""
    if not spans:
        return "nothing read"
    lo = min((s.from_ for s in spans if s.from_ is not None), default=None)
    hi = max((s.to for s in spans if s.to is not None), default=None)
    if (lo, hi) == (first, last):
        return "exact"
    if first in (lo, hi) or last in (lo, hi):
        return "one end"
    apart = (hi is not None and hi < first) or (lo is not None and lo > last)
    return "apart" if apart else "overlaps"


def speed() -> None:
    """Short phrases a second, on one core."""
    phrases = SPOKEN * 12_500
    began = time.perf_counter()
    for phrase in phrases:
        read_dates(phrase, filmed=FILMED)
    seconds = time.perf_counter() - began
    print(f"\n{len(phrases)} short phrases in {seconds:.1f} s")


if __name__ == "__main__":
    main()
