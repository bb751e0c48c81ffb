"""Tables that people keep: CSV in whatever dialect, or a spreadsheet, as rows of text under headings."""

from __future__ import annotations

import csv
import datetime as dt
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from episode.errors import UnusableInput
from episode.models import Problem

LARGEST_BYTES = 50_000_000
LARGEST_ROWS = 100_000
_LARGEST_UNPACKED = 200_000_000


class Table(NamedTuple):
    """Headings and rows; ``rows`` pairs each row's number in the file (headings are row 1) with its cells."""

    headings: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    problems: tuple[Problem, ...]


def read_table(path: Path) -> Table:
    """The table in ``path`` (.csv, .tsv or .txt in any common dialect; .xlsx or .ods).

    UTF-8 with or without a byte order mark; anything else is read as Windows-1252, and that is said.
    Rows without any text are skipped. A row longer than the headings keeps its surplus under ``column N``.

    Raises:
        UnusableInput: no headings, not a table, or beyond 50 MB or 100,000 rows.
    """
    name = path.name
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise UnusableInput("is larger than 50 MB: too large for a table of finds", where=name, remedy="Split it.")
        problems: list[Problem] = []
        is_spreadsheet = path.suffix.lower() in {".xlsx", ".ods", ".xls"}
        raw = _spreadsheet(path) if is_spreadsheet else _csv(path, problems)
    except OSError as error:
        raise UnusableInput(
            f"cannot be read ({error.strerror})", where=name, remedy="Check its permissions."
        ) from error
    return _table(name, raw, problems)


def _csv(path: Path, problems: list[Problem]) -> Iterator[tuple[int, list[str]]]:
    data = path.read_bytes()
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        text = data.decode("utf-16", errors="replace")
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            line = data[: error.start].count(b"\n") + 1
            text = data.decode("cp1252", errors="replace")
            problems.append(
                Problem(
                    where=f"{path.name}, row {line}",
                    what="is not UTF-8; it was read as Windows-1252",
                    remedy="Save it as UTF-8 if an accent or a pound sign looks wrong.",
                    level="note",
                )
            )
    if "\x00" in text:
        raise UnusableInput("holds null bytes: not a text table", where=path.name, remedy="Export it again as CSV.")
    first = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max((",", ";", "\t", "|"), key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    return _csv_rows(path.name, reader)


def _csv_rows(name: str, reader: Iterator[list[str]]) -> Iterator[tuple[int, list[str]]]:
    number = 0
    while True:
        number += 1
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise UnusableInput(
                f"is not readable CSV: {error}", where=f"{name}, row {number}", remedy="Mend that row."
            ) from error
        yield number, row


def _spreadsheet(path: Path) -> Iterator[tuple[int, list[str]]]:
    from python_calamine import CalamineWorkbook

    _refuse_bombs(path)
    try:
        sheet = CalamineWorkbook.from_path(str(path)).get_sheet_by_index(0)
        rows = sheet.to_python(skip_empty_area=False)
    except Exception as error:  # the reader raises its own and the archive's errors
        raise UnusableInput(
            f"is not a readable spreadsheet ({error})",
            where=path.name,
            remedy="Save the sheet as CSV.",
        ) from error
    return ((number, [_cell(value) for value in row]) for number, row in enumerate(rows, start=1))


def _refuse_bombs(path: Path) -> None:
    if not zipfile.is_zipfile(path):
        return
    with zipfile.ZipFile(path) as archive:
        if sum(item.file_size for item in archive.infolist()) > _LARGEST_UNPACKED:
            raise UnusableInput(
                "unpacks to more than 200 MB: not a table of finds",
                where=path.name,
                remedy="Save the sheet as CSV.",
            )


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))  # spreadsheets keep find number 7 as 7.0
    if isinstance(value, dt.datetime):
        return value.isoformat(sep=" ")
    if isinstance(value, dt.timedelta):
        seconds = int(value.total_seconds())
        return f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}"
    return "" if value is None else str(value)


def _table(name: str, raw: Iterator[tuple[int, list[str]]], problems: list[Problem]) -> Table:
    headings: tuple[str, ...] = ()
    rows: list[tuple[int, tuple[str, ...]]] = []
    for number, cells in raw:
        if not any(cell.strip() for cell in cells):
            continue
        if not headings:
            headings = tuple(cell.strip() for cell in cells)
            continue
        if len(rows) >= LARGEST_ROWS:
            raise UnusableInput(f"has more than {LARGEST_ROWS} rows", where=name, remedy="Split it into days.")
        rows.append((number, tuple(cell.strip() for cell in cells)))
    if not headings:
        raise UnusableInput(
            "is empty", where=name, remedy="The first row holds headings: find, time, object and so on."
        )
    widest = max((len(cells) for _, cells in rows), default=0)
    surplus = tuple(f"column {index + 1}" for index in range(len(headings), widest))
    return Table(headings + surplus, tuple(rows), tuple(problems))
