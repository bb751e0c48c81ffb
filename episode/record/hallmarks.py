"""British assay offices and London date letters, as far as a source fixes them and no further."""

from __future__ import annotations

import csv
import re
from functools import lru_cache

from episode.errors import UnusableInput
from episode.lexicon.resources import vocab_root
from episode.record import edtf_out
from episode.record.load import load_record
from episode.record.reading import Mark

_FORM = re.compile(
    r"^\s*(?P<office>[a-z]+)(?:[\s,]+(?:letter\s+)?(?P<letter>[a-z]))?(?:[\s,]+(?:cycle\s+)?(?:of\s+)?(?P<cycle>\d{4}))?\s*$",
    re.I,
)
_RUNS = "A letter ran from the end of May into the next year."
_LOOK = "Shape of shield, style of letter and town mark decide between cycles: compare a printed table."


def read_hallmark(text: str) -> Mark:
    """The years of an assay office, or of a London letter in a cycle whose first year is sure.

    Raises:
        UnusableInput: an office, a letter or a cycle that is not known here; the message says which are.
    """
    match = _FORM.match(text)
    row = _offices().get(match.group("office").lower()) if match else None
    if match is None or row is None:
        known = ", ".join(r["office"] for r in _offices().values())
        raise UnusableInput("is no assay office known here", where=text.strip()[:40], remedy=f"Known are {known}.")
    source, notes = (
        load_record().reference(row["source"]),
        [row["note"][:1].upper() + row["note"][1:] + "."] if row["note"] else [],
    )
    if not match.group("letter"):
        first, last = (int(row[end]) if row[end] else None for end in ("from", "to"))
        says = f"The {row['office']} assay office marked " + (f"from {first}" if first else f"until {last}")
        return _mark(text, says, first, last, source, notes)
    if not row["cycles"]:
        raise UnusableInput(
            f"the date letters of {row['office']} are not held here", where=text.strip()[:40], remedy=_LOOK
        )
    return _letter(text, row, match.group("letter").lower(), match.group("cycle"), source)


def _letter(text: str, row: dict[str, str], letter: str, cycle: str | None, source: str) -> Mark:
    place = row["letters"].find(letter)
    if place < 0:
        raise UnusableInput(
            f"{row['office']} cycles have no letter {letter}", where=text.strip()[:40],
            remedy=f"They run {row['letters'][0]} to {row['letters'][-1]} without j.",
        )  # fmt: skip
    if cycle not in row["cycles"].split(";"):
        raise UnusableInput(
            "only some cycles have a first year that is sure", where=cycle or "no cycle given",
            remedy=f"Give the cycle by its first year, one of {row['cycles'].replace(';', ', ')}. {_LOOK}",
        )  # fmt: skip
    year = int(cycle or 0) + place
    says = f"{row['office']} letter {letter} of the cycle that began in {cycle}: {year} to {year + 1}"
    return _mark(text, says, year, year + 1, source, [_RUNS, _LOOK])


def _mark(text: str, says: str, first: int | None, last: int | None, source: str, cautions: list[str]) -> Mark:
    return Mark(
        kind="hallmark", text=f"hallmark {text.strip()}", says=says, from_=first, to=last,
        edtf=edtf_out.interval(first, last), source=source, cautions=tuple(cautions),
    )  # fmt: skip


@lru_cache(maxsize=1)
def _offices() -> dict[str, dict[str, str]]:
    path = vocab_root().joinpath("record").joinpath("hallmark_offices.csv")
    return {row["office"].lower(): row for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())}
