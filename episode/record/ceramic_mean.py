"""South's mean ceramic date: the weighted mean of the middles of the years in which each type was made."""

from __future__ import annotations

import re
from dataclasses import dataclass

from episode.errors import UnusableInput
from episode.models import Grade
from episode.record import edtf_out
from episode.record.load import load_record
from episode.record.reading import Mark

FEWEST = 20
"""Fewer sherds than this give a mean that one more sherd can move by years (common practice, no source)."""
_SOURCE = "South 1971, the mean of each type's middle year weighted by its sherds"
_REMEDY = "Write types and counts as 1770:21 1800:17, as 1762-1820:21, or as creamware:21, pearlware:17."
_PART = re.compile(r"\s*,?\s*(?P<type>[^:=,]+?)\s*[:=]\s*(?P<count>\d{1,6})(?=[\s,]|$)")


@dataclass(frozen=True)
class _Type:
    name: str
    first: int
    last: int
    count: int
    ranged: bool

    @property
    def middle(self) -> float:
        return (self.first + self.last) / 2


def read_ceramics(text: str) -> Mark:
    """The mean date of a group of sherds and, where the types have a first year, its terminus post quem.

    Each type is a middle year, a range of years, or a ware of the record whose ranges have both ends in a source
    (the earliest and latest of them where several differ).

    Raises:
        UnusableInput: a part that is no type and count, a ware without published years, or no sherds.
    """
    types = _types(text.strip())
    total = sum(t.count for t in types)
    if not total:
        raise UnusableInput("counts no sherds", where=text.strip()[:40], remedy=_REMEDY)
    mean = sum(t.middle * t.count for t in types) / total
    year = int(mean + 0.5)
    begun = [t for t in types if t.ranged and t.count]
    says = f"{total} sherds of {sum(t.count > 0 for t in types)} types: mean ceramic date {mean:.1f}"
    cautions = ["It is a mean for the group, not the date of any one sherd, and assumes all sherds are counted alike."]
    if begun:
        last = max(begun, key=lambda t: t.first)
        says += f"; not laid down before {last.first} ({last.name})"
        if year < last.first:
            cautions.insert(0, f"The mean lies before {last.first}, when the latest type began: the group is mixed.")
    else:
        cautions.append("No first years were given, so there is no terminus post quem.")
    if total < FEWEST:
        cautions.append(f"Only {total} sherds: too few for a mean to rest on.")
    return Mark(
        kind="mean ceramic date", text=f"ceramics {text.strip()}", says=says, from_=year, to=year,
        edtf=edtf_out.year(year, "~"), source=_SOURCE, cautions=tuple(cautions),
    )  # fmt: skip


def _types(text: str) -> list[_Type]:
    found, at = [], 0
    while at < len(text):
        match = _PART.match(text, at)
        if match is None:
            raise UnusableInput("is no type of pottery with a count", where=text[at : at + 40], remedy=_REMEDY)
        found.append(_type(match.group("type").strip(), int(match.group("count"))))
        at = match.end()
    return found


def _type(name: str, count: int) -> _Type:
    years = re.fullmatch(r"(\d{4})(?:\s*[-–]\s*(\d{4}))?", name)
    if years:
        first, last = int(years.group(1)), int(years.group(2) or years.group(1))
        if first > last:
            raise UnusableInput("runs backwards", where=name, remedy="Put the earlier year first.")
        return _Type(name, first, last, count, bool(years.group(2)))
    ranges = [
        (fact.from_, fact.to)
        for fact in load_record().about(name)
        if fact.topic == "range" and fact.grade is not Grade.MEMORY
    ]
    ends = [(first, last) for first, last in ranges if first is not None and last is not None]
    if not ends:
        raise UnusableInput("the record has no first and last year in a source for this", where=name, remedy=_REMEDY)
    return _Type(name, min(first for first, _ in ends), max(last for _, last in ends), count, ranged=True)
