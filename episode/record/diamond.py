"""Registration diamonds of the United Kingdom, 1842 to 1883.

Two series share their letters. In the first (1842 to 1867) the year letter stands at the top; in the second
(1868 to 1883) at the right, and the day at the top.
"""

from __future__ import annotations

import calendar
import csv
import re
from dataclasses import dataclass
from functools import lru_cache

from episode.errors import UnusableInput
from episode.lexicon.resources import vocab_root
from episode.record import edtf_out
from episode.record.reading import Mark

_MADE = "It is the day of registration: the object was made then or in the years after."
_LAYOUT = "In the first series the year letter is at the top, in the second at the right."

_SAID_OF = r"class|cl|parcel|bundle|series|year"
_ASIDE = re.compile(
    rf"\b(?:{_SAID_OF})\b\.?\s*(?:letter\s*)?(?:at |on )?(?:the )?(?:top|right|[ivx]+|\d+|one|two)\b", re.I
)
_SERIES = re.compile(
    r"\bseries\s*(1|2|one|two|i{1,2})\b|\byear\s*(?:letter\s*)?(?:at |on )?(?:the )?(top|right)\b", re.I
)


@dataclass(frozen=True)
class _Day:
    year: int
    month: int
    note: str = ""


def read_diamond(text: str) -> Mark:
    """The day a diamond stands for: ``Q B 23 class IV``, year letter first, then month letter, then day.

    ``series 1`` or ``series 2`` (or ``year at the top`` or ``right``) settles letters that both series use.

    Raises:
        UnusableInput: letters or day that no diamond has.
    """
    series = _series(text)
    rest = _ASIDE.sub(" ", text)
    letters = [letter.upper() for letter in re.findall(r"(?<![A-Za-z])[A-Za-z](?![A-Za-z])", rest)]
    numbers = [int(n) for n in re.findall(r"\d{1,2}", rest)]
    if not 1 <= len(letters) <= 2:
        raise UnusableInput("needs a year letter and a month letter", where=f"diamond {text.strip()}", remedy=_LAYOUT)
    day = numbers[0] if numbers else None
    found = _days(letters[0], letters[1] if len(letters) > 1 else None, day, series)
    if not found:
        raise UnusableInput(
            "no registration diamond has these letters and that day", where=f"diamond {text.strip()}", remedy=_LAYOUT
        )
    return _mark(text, found, day, _class(text))


def _series(text: str) -> str:
    said = _SERIES.search(text)
    if not said:
        return ""
    return "1" if (said.group(1) or said.group(2)).lower() in {"1", "one", "i", "top"} else "2"


def _days(year_letter: str, month_letter: str | None, day: int | None, series: str) -> list[_Day]:
    rows = _rows()
    found: list[_Day] = []
    months = {r["letter"]: int(r["month"]) for r in rows if r["kind"] == "month"}
    for row in rows:
        if row["kind"] != "year" or row["letter"] != year_letter or (series and row["series"] != series):
            continue
        year = int(row["year"])
        if month_letter is None:
            found.append(_Day(year, 0))
            continue
        choices = [(months[month_letter], "")] if month_letter in months else []
        for odd in rows:
            fits = odd["kind"] == "exception" and odd["series"] == row["series"] and odd["letter"] == month_letter
            if fits and odd["year"] in {"", str(year)} and _within(day, odd):
                choices.append((int(odd["month"]), odd["note"]))
        found += [_Day(year, month, note) for month, note in choices if _has_day(year, month, day)]
    for odd in rows:
        both = odd["kind"] == "exception" and odd["letter"] == f"{year_letter} {month_letter}"
        if both and series != "1" and _within(day, odd):
            found.append(_Day(int(odd["year"]), int(odd["month"]), odd["note"]))
    return found


def _within(day: int | None, row: dict[str, str]) -> bool:
    return day is None or int(row["first_day"]) <= day <= int(row["last_day"])


def _has_day(year: int, month: int, day: int | None) -> bool:
    return day is None or 1 <= day <= calendar.monthrange(year, month)[1]


def _class(text: str) -> str:
    said = re.search(r"\bcl(?:ass)?\.?\s+(IV|I{1,3})\b", text, re.I)
    if not said:
        return ""
    material = next((r["note"] for r in _rows() if r["kind"] == "class" and r["letter"] == said.group(1).upper()), "")
    return f"class {said.group(1).upper()}" + (f", {material}" if material else "")


def _mark(text: str, found: list[_Day], day: int | None, made_of: str) -> Mark:
    source = next(r["source"] for r in _rows() if r["kind"] == "year")
    cautions = [_MADE]
    years = sorted({d.year for d in found})
    if len(found) > 1:
        notes = "; ".join(dict.fromkeys(d.note for d in found if d.note))
        cautions.insert(0, f"More than one reading. {_LAYOUT} {notes}")
    elif found[0].note:
        cautions.insert(0, found[0].note)
    said = " or ".join(_spelt(d, day) for d in found)
    edtf = _edtf(found[0], day) if len(found) == 1 else edtf_out.interval(years[0], years[-1])
    return Mark(
        kind="registration diamond",
        text=f"diamond {text.strip()}",
        says=f"registered {'on ' if day and found[0].month else 'in '}{said}" + (f" ({made_of})" if made_of else ""),
        from_=years[0],
        to=years[-1],
        edtf=edtf,
        source=source,
        cautions=tuple(c.strip() for c in cautions),
    )


def _spelt(found: _Day, day: int | None) -> str:
    if not found.month:
        return str(found.year)
    month = calendar.month_name[found.month]
    return f"{day} {month} {found.year}" if day else f"{month} {found.year}"


def _edtf(found: _Day, day: int | None) -> str:
    if not found.month:
        return edtf_out.year(found.year)
    return f"{found.year:04d}-{found.month:02d}" + (f"-{day:02d}" if day else "")


@lru_cache(maxsize=1)
def _rows() -> tuple[dict[str, str], ...]:
    path = vocab_root().joinpath("record").joinpath("registered_design_diamond.csv")
    return tuple(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
