"""British patent numbers: which of the four ways of numbering one belongs to."""

from __future__ import annotations

import re

from episode.errors import UnusableInput
from episode.record import edtf_out
from episode.record.load import load_record
from episode.record.reading import Mark

LAST_OF_ROLLS = 14_359
YEARLY = (1852, 1915)
CONTINUOUS, SINCE_1978 = 100_001, 2_000_001
_REMEDY = "Write it as patent 3070 of 1870, patent 1870/3070, patent 10811/97 or patent 345678."
_NUMBER = re.compile(
    r"^\D{0,12}?(?P<number>\d[\d,]{0,9})(?:\s*/\s*(?P<short>\d{2,4})|[\s,]+(?:of |dated |in )?(?P<year>1[6-9]\d\d))?\s*[.]?\s*$",
    re.IGNORECASE,
)
_YEAR_FIRST = re.compile(r"^\D{0,12}?(?P<year>1[6-9]\d\d)\s*/\s*(?P<number>\d{1,2},\d{3}|\d{3,5})\s*[.]?\s*$")
_APPLIED = "A number on an object may be of the application, and an object may be made long after its patent."


def read_patent(text: str) -> Mark:
    """The years to which a British patent number can belong.

    Raises:
        UnusableInput: it is no number, or its year has no such numbers.
    """
    first = _YEAR_FIRST.match(text.strip())
    if first and not YEARLY[0] <= int(first.group("number").replace(",", "")) <= YEARLY[1]:
        return _of_year(int(first.group("number").replace(",", "")), int(first.group("year")))
    match = _NUMBER.match(text.strip())
    number = int(match.group("number").replace(",", "")) if match else 0
    if match is None or number < 1:
        raise UnusableInput("is no British patent number", where=text.strip()[:40] or "patent", remedy=_REMEDY)
    year = _year(match.group("short") or match.group("year") or "")
    if year is not None:
        return _of_year(number, year)
    if number >= SINCE_1978:
        return _mark(number, "of the series that began in 1978", 1978, None, "bl-patents-blog", ())
    if number >= CONTINUOUS:
        return _mark(
            number,
            "of the series that runs on from 1916",
            1916,
            None,
            "econterms",
            ("The first number of that series, 100001, is from memory.",),
        )
    if number > LAST_OF_ROLLS:
        note = (
            "Numbers began again each year: the year beside the number fixes it. From 1916 it may be a filing number."
        )
        return _mark(number, "of a year from 1852 to 1915", *YEARLY, "bl-patents", (note,))
    note = (
        "To 1852 one list ran from 1 to 14359; from 1852 to 1915 each year had such a number. The year beside it tells."
    )
    return _mark(number, "of 1617 to 1852, or of a year to 1915", 1617, YEARLY[1], "bl-patents", (note,))


def _of_year(number: int, year: int) -> Mark:
    if YEARLY[0] <= year <= YEARLY[1]:
        return _mark(number, f"number {number} of {year}", year, year, "bl-patents", ())
    if 1617 <= year < YEARLY[0] and number <= LAST_OF_ROLLS:
        return _mark(number, f"in the list of 1617 to 1852, dated {year}", year, year, "bl-patents", ())
    if year > YEARLY[1] and number >= CONTINUOUS:
        return _mark(number, f"of the series that runs on from 1916, dated {year}", year, year, "econterms", ())
    raise UnusableInput(f"{year} has no British patent of that number", where=str(number), remedy=_REMEDY)


def _year(said: str) -> int | None:
    if not said:
        return None
    if len(said) == 4:
        return int(said)
    short = int(said)
    if len(said) == 3 or YEARLY[1] - 1900 < short < YEARLY[0] - 1800:
        raise UnusableInput("is no year from 1852 to 1915", where=f"/{said}", remedy=_REMEDY)
    return 1800 + short if short >= YEARLY[0] - 1800 else 1900 + short


def _mark(number: int, says: str, first: int, last: int | None, source: str, cautions: tuple[str, ...]) -> Mark:
    return Mark(
        kind="patent number", text=f"patent {number}", says=f"British patent {number}: {says}", from_=first, to=last,
        edtf=edtf_out.interval(first, last), source=load_record().reference(source), cautions=(*cautions, _APPLIED),
    )  # fmt: skip
