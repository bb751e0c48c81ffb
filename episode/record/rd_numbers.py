"""United Kingdom registered design numbers, 1884 to 1965."""

from __future__ import annotations

import csv
import re
from bisect import bisect_right
from functools import lru_cache

from episode.errors import UnusableInput
from episode.lexicon.resources import vocab_root
from episode.record import edtf_out
from episode.record.reading import Mark

SLACK = 2
"""Copied lists differ by one or two at the turn of a year."""
_MADE = "It is the year of registration: the object was made then or later, for as long as the design sold."


def read_rd_number(text: str) -> Mark:
    """The year in which a number was registered.

    Raises:
        UnusableInput: there is no number, or one below or far above the table.
    """
    match = re.match(r"\D*?(\d[\d,. ]*)", text)
    digits = re.sub(r"\D", "", match.group(1)) if match else ""
    if not digits or len(digits) > 9 or int(digits) < 1:
        raise UnusableInput("is no registered number", where=text.strip() or "Rd", remedy="Write it as Rd 821265.")
    number = int(digits)
    years, firsts, source = _table()
    place = bisect_right(firsts, number) - 1
    year = years[place]
    cautions = [_MADE]
    if place == len(years) - 1:
        cautions.append("The table ends in 1965; later numbers are of that year or after it.")
        edtf = edtf_out.interval(year, None)
        return _mark(number, f"Rd {number} was registered in {year} or later", year, None, edtf, source, cautions)
    first, last = year, year
    if number - firsts[place] < SLACK and place:
        first = years[place - 1]
    elif firsts[place + 1] - number <= SLACK:
        last = years[place + 1]
    if first != last:
        cautions.insert(0, "Copied lists differ by one or two numbers at the turn of this year.")
        said = f"Rd {number} was registered at the end of {first} or the beginning of {last}"
    else:
        said = f"Rd {number} was registered in {year}"
    return _mark(number, said, first, last, edtf_out.interval(first, last), source, cautions)


def _mark(number: int, says: str, first: int, last: int | None, edtf: str, source: str, cautions: list[str]) -> Mark:
    return Mark(
        kind="registered number",
        text=f"Rd {number}",
        says=says,
        from_=first,
        to=last,
        edtf=edtf,
        source=source,
        cautions=tuple(cautions),
    )


@lru_cache(maxsize=1)
def _table() -> tuple[list[int], list[int], str]:
    path = vocab_root().joinpath("record").joinpath("rd_numbers.csv")
    rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    return [int(r["year"]) for r in rows], [int(r["first"]) for r in rows], rows[0]["source"]
