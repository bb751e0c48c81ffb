"""How far the date reader agrees with a museum's own years, why it does not, and how fast it is.

    python -m tests.bench.dates [--all]

Tate's catalogue (CC0): date phrases with the first and last year that the museum gave them, and how many works
have the phrase. Its rules (circa, before and after add nothing; a later cast or reprint does not count) are the
convention `tate`, read off this same table, since no published statement of them was found: the figure says how far
one set of rules explains the museum's years, not how well unseen phrases would be read. Halves by the phrase's
checksum are printed apart. `--all` lists every phrase that differs, by class.
"""

from __future__ import annotations

import csv
import sys
import time
import zlib
from collections import Counter, defaultdict
from datetime import date
from pathlib import Path

from episode.record.catalogue import catalogue_years
from episode.record.conventions import conventions
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
HOSTILE = ("1-", "c18-", "1872-", "mid-", "a ", "1 ", "ww1", "1bc-", "georgian or ", "1780s to ", "18th cent.", "7")
Row = dict[str, str]
Years = tuple[int | None, int | None]


def main() -> None:
    """Print agreement by convention, the classes of disagreement, and speed."""
    with DATA.open(encoding="utf-8") as stream:
        every = list(csv.DictReader(stream))
    rows = [row for row in every if row["from"].isdigit() and row["to"].isdigit()]
    print(
        f"{len(rows)} of {len(every)} rows have years, {len({r['phrase'] for r in rows})} different phrases, ", end=""
    )
    print(f"{sum(int(r['works']) for r in rows)} works")
    for convention in sorted(conventions(), key=lambda name: name != "tate"):
        agreement(rows, convention, "all rows")
    for half in (0, 1):
        agreement([r for r in rows if zlib.crc32(r["phrase"].encode()) % 2 == half], "tate", f"half {half + 1}")
    explain(rows, listing="--all" in sys.argv)
    speed()


def agreement(rows: list[Row], convention: str, which: str) -> None:
    """Exact agreement by row, by different phrase (its commonest years) and by work."""
    outcome: Counter[str] = Counter()
    works: Counter[str] = Counter()
    best: dict[str, tuple[int, bool]] = {}
    for row in rows:
        got = catalogue_years(row["phrase"], convention=convention)
        same, weight = got == wanted(row), int(row["works"])
        outcome["exact"] += same
        works["exact"] += same * weight
        works["dated"] += weight * (got is not None)
        works["all"] += weight
        best[row["phrase"]] = max(best.get(row["phrase"], (0, False)), (weight, same))
    phrases = sum(same for _, same in best.values()) / len(best)
    print(
        f"{convention:16} {which:9} exact {outcome['exact'] / len(rows):6.1%} of rows  {phrases:6.1%} of phrases  "
        f"{works['exact'] / works['all']:6.2%} of works  {works['exact'] / works['dated']:6.2%} of works with a date said"
    )


def wanted(row: Row) -> Years:
    """The museum's years."""
    return int(row["from"]), int(row["to"])


def explain(rows: list[Row], *, listing: bool) -> None:
    """Every disagreement under the museum's convention, in a class that says why."""
    given: defaultdict[str, Counter[Years]] = defaultdict(Counter)
    for row in rows:
        given[row["phrase"]][wanted(row)] += int(row["works"])
    classes: defaultdict[str, list[tuple[int, str]]] = defaultdict(list)
    for row in rows:
        got = catalogue_years(row["phrase"], convention="tate")
        if got != wanted(row):
            line = f"{row['phrase']!r}: museum {row['from']} to {row['to']}, read {got}"
            classes[why(row["phrase"], wanted(row), got, given[row["phrase"]])].append((int(row["works"]), line))
    print("\nWhat differs under the museum's convention:")
    for name, lines in sorted(classes.items(), key=lambda c: -sum(w for w, _ in c[1])):
        print(f"  {len(lines):3} rows, {sum(w for w, _ in lines):4} works: {name}")
        for works, line in sorted(lines, reverse=True)[: None if listing else 2]:
            print(f"      {works:4} {line}")


def why(phrase: str, museum: Years, got: Years | None, given: Counter[Years]) -> str:
    """The class of one disagreement; from the museum's own figures where they show it."""
    first, last = museum
    if got is None:
        return "the phrase states no date, and nothing was read"
    if len(given) > 1 and got in given:
        return "the museum gives the same phrase these and other years; the commonest or the plain ones are read"
    if first is None or last is None or last < first:
        return "the museum's years run backwards"
    low, high = got
    if low is not None and high is not None and (first > high or last < low):
        return "the museum's years lie outside the years that the phrase states"
    if any(word in phrase.lower() for word in ("after", "before", "later", "earlier")):
        return "before or after: here the museum used the artist's life, the next year or no limit"
    if "c." in phrase and low is not None and high is not None and first <= low and high <= last:
        return "circa: here the museum widened it, by five or ten years"
    if any(word in phrase for word in ("printed", "cast", "remade", "reconstruct", "annotated", "published")):
        return "a later act: here the museum counted otherwise than in most rows"
    if low is not None and high is not None and low <= first and last <= high:
        return "the museum gives only a part of the years that the phrase states"
    return "the museum gives more years than the phrase states"


def speed() -> None:
    """Short phrases a second, on one core; seconds for a megabyte that means harm."""
    phrases = SPOKEN * 12_500
    began = time.process_time()
    for phrase in phrases:
        read_dates(phrase, filmed=FILMED)
    print(f"\n{len(phrases)} short phrases in {time.process_time() - began:.1f} s of one core")
    worst = max((hostile(piece), piece) for piece in HOSTILE)
    print(f"a megabyte of {worst[1]!r}, the worst of {len(HOSTILE)} patterns, in {worst[0]:.1f} s")


def hostile(piece: str) -> float:
    """Seconds of one core for a megabyte of ``piece``."""
    text = piece * (1_000_000 // len(piece))
    began = time.process_time()
    read_dates(text, filmed=FILMED)
    return time.process_time() - began


if __name__ == "__main__":
    main()
