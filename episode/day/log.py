"""The find log: an untidy table of what was picked up, read row by row and judged aloud."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from episode.day.clock_times import read_clock
from episode.day.tables import read_table
from episode.errors import UnusableInput
from episode.models import LogEntry, Problem, Settings

NAMES = ("finds.csv", "finds.xlsx", "finds.ods", "finds.tsv")

HEADINGS: Mapping[str, tuple[str, ...]] = {
    "find": (
        "find",
        "no",
        "number",
        "find no",
        "find number",
        "no of find",
        "id",
        "ref",
        "code",
        "sf",
        "small find",
        "#",
        "nr",
    ),
    "time": ("time", "when", "clock", "found at", "logged", "timestamp", "datetime", "date time", "date/time", "hour"),
    "object": (
        "object",
        "item",
        "what",
        "find type",
        "thing",
        "description",
        "identification",
        "object type",
        "type",
        "name",
    ),
    "material": ("material", "made of", "fabric", "ware", "mat"),
    "period": ("period", "age", "era", "date range", "dating", "date of object"),
    "from": ("from", "year from", "date from", "start", "earliest", "start year"),
    "to": ("to", "year to", "date to", "until", "end", "latest", "end year"),
    "maker": ("maker", "made by", "manufacturer", "firm", "makers mark", "maker's mark"),
    "place": ("place", "where", "location", "spot", "site", "area"),
    "grid": ("grid", "grid ref", "grid reference", "ngr", "gps", "coordinates", "coords", "lat lon", "position"),
    "photo": ("photo", "photos", "picture", "pic", "image", "photograph", "img"),
    "notes": ("notes", "note", "comment", "comments", "remarks", "remark", "details"),
}
"""Headings that people use, by the contract's column. Common practice, no source."""

_FIELD_OF = {heading: field for field, headings in HEADINGS.items() for heading in headings}
_YEAR = re.compile(r"^(?:c\.?a?\.?\s*)?(?:ad\s*)?(-?\d{1,4})\s*(ad|bc|bce|ce)?\.?$", re.IGNORECASE)
_HALF_DAY = dt.timedelta(hours=12)


def find_log(folder: Path) -> Path | None:
    """The log file of a day folder, or None. The first of ``NAMES`` that exists, whatever its case.

    Raises:
        UnusableInput: there are two, and nobody can say which one counts.
    """
    there = [path for path in sorted(folder.iterdir()) if path.name.lower() in NAMES and path.is_file()]
    if len(there) > 1:
        raise UnusableInput(
            "there are two find logs: " + " and ".join(path.name for path in there),
            where=folder.name,
            remedy="Keep one of them under that name; rename or move the other.",
        )
    return there[0] if there else None


def read_log(folder: Path, settings: Settings) -> tuple[tuple[LogEntry, ...], tuple[Problem, ...]]:
    """The rows of the day's find log in file order, and what was wrong with them.

    A row is never dropped for a bad cell: the cell is left out, kept under ``other`` as written, and reported
    with file, row and column. Clock times take their date from ``settings.date``; a time that falls back by
    half a day with no am or pm is read as the afternoon, and that is said.

    Raises:
        UnusableInput: no readable table, or no column that says what was found.
    """
    path = find_log(folder)
    if path is None:
        return (), ()
    table = read_table(path)
    columns = _columns(path.name, table.headings)
    problems = [*table.problems, *_unknown_columns(path.name, columns)]
    entries: list[LogEntry] = []
    latest: dt.datetime | None = None
    for number, cells in table.rows:
        entry, clock_only = _entry(path.name, number, columns, cells, settings, problems)
        if entry.time and latest and clock_only and entry.time < latest:
            entry = _afternoon(path.name, entry, latest, problems)
        if entry.time and clock_only:
            latest = max(latest, entry.time) if latest else entry.time
        entries.append(entry)
    return tuple(entries), tuple(problems)


def _columns(name: str, headings: tuple[str, ...]) -> list[tuple[str, str]]:
    """For each column its field (or an empty string) and its own heading."""
    columns: list[tuple[str, str]] = []
    taken: set[str] = set()
    for heading in headings:
        plain = re.sub(r"[\s._-]+", " ", heading.lower()).strip()
        field = _FIELD_OF.get(plain, "")
        if field in taken:
            field = ""
        taken.add(field)
        columns.append((field, heading or f"column {len(columns) + 1}"))
    if not taken & {"object", "notes", "material", "photo"}:
        raise UnusableInput(
            "no column says what was found; the headings are " + ", ".join(repr(h) for h in headings[:12]),
            where=f"{name}, row 1",
            remedy="The first row must hold headings, one of them `object` (or Item, What, Description).",
        )
    return columns


def _unknown_columns(name: str, columns: list[tuple[str, str]]) -> list[Problem]:
    unknown = [heading for field, heading in columns if not field and not heading.startswith("column ")]
    if not unknown:
        return []
    return [
        Problem(
            where=f"{name}, row 1",
            what="columns kept as they are, their meaning unknown: " + ", ".join(unknown),
            remedy="Nothing to do, unless one of them is meant as: " + ", ".join(HEADINGS) + ".",
            level="note",
        )
    ]


def _entry(
    name: str,
    number: int,
    columns: list[tuple[str, str]],
    cells: tuple[str, ...],
    settings: Settings,
    problems: list[Problem],
) -> tuple[LogEntry, bool]:
    values: dict[str, Any] = {}
    other: dict[str, str] = {}
    clock_only = False
    for (field, heading), cell in zip(columns, cells, strict=False):
        if not cell:
            continue
        if not field:
            other[heading] = cell
        elif field == "time":
            try:
                values["time"], clock_only = read_clock(cell, settings.date, ZoneInfo(settings.time_zone))
            except ValueError as error:
                other[heading] = cell
                problems.append(
                    _bad_cell(name, number, heading, cell, str(error), "Write it as 9:41, 14:05 or 2026-05-03T14:05.")
                )
        elif field in {"from", "to"}:
            year = read_year(cell)
            if year is None:
                other[heading] = cell
                problems.append(_bad_cell(name, number, heading, cell, "is not a year", "Write it as 1762, or 55 BC."))
            else:
                values[field] = year
        else:
            values[field] = cell
    if values.get("from") is not None and values.get("to") is not None and values["from"] > values["to"]:
        both = f"{values['from']}, {values['to']}"
        problems.append(_bad_cell(name, number, "from, to", both, "run backwards", "Both were left out; mend the row."))
        other["from"], other["to"] = str(values.pop("from")), str(values.pop("to"))
    if "find" not in values:
        values["find"] = f"row {number}"
        problems.append(
            Problem(
                where=f"{name}, row {number}",
                what="has no find number",
                remedy=f"It is called 'row {number}' until you give it one.",
            )
        )
    return LogEntry(row=number, other=other, **values), clock_only


def _bad_cell(name: str, number: int, heading: str, cell: str, what: str, remedy: str) -> Problem:
    shown = cell if len(cell) <= 60 else cell[:57] + "..."
    return Problem(where=f"{name}, row {number}, column {heading}", what=f"{shown!r} {what}", remedy=remedy)


def _afternoon(name: str, entry: LogEntry, latest: dt.datetime, problems: list[Problem]) -> LogEntry:
    assert entry.time is not None  # noqa: S101 - narrowed by the caller
    later = entry.time + _HALF_DAY
    if entry.time.hour == 0 or entry.time.hour >= 12 or not dt.timedelta(0) <= later - latest <= dt.timedelta(hours=5):
        return entry
    problems.append(
        Problem(
            where=f"{name}, row {entry.row}",
            what=f"{entry.time:%H:%M} comes after {latest:%H:%M}; it was read as {later:%H:%M}",
            remedy="Write pm, or the 24-hour time, if you want to be sure.",
            level="note",
        )
    )
    return entry.model_copy(update={"time": later})


def read_year(cell: str) -> int | None:
    """A year cell as an astronomical year: ``1762``, ``c. 1700``, ``AD 43``, ``55 BC`` (-54); None if it is not one."""
    match = _YEAR.match(cell.strip())
    if not match:
        return None
    year = int(match[1])
    if (match[2] or "").lower() in {"bc", "bce"}:
        return 1 - year if year > 0 else None
    return year if -10000 < year <= 2200 else None
