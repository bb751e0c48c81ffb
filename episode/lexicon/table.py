"""Reading a person's table (CSV or spreadsheet) as text cells, row by row, with every trouble named."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from importlib.resources.abc import Traversable
from pathlib import Path

from episode.errors import UnusableInput
from episode.models import Problem

LARGEST_FILE = 16 * 1024 * 1024
MOST_ROWS = 100_000
LONGEST_CELL = 20_000
_SPREADSHEETS = {".xlsx", ".xlsm", ".xls", ".ods"}


@dataclass(frozen=True)
class Row:
    """One row of a table: ``number`` as a spreadsheet counts (the heading is row 1), cells by heading."""

    number: int
    cells: dict[str, str]


@dataclass
class Table:
    """A table's headings (trimmed, lower case, in order), its rows, and what was wrong with it."""

    name: str
    headings: tuple[str, ...] = ()
    rows: list[Row] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def read_table(source: Traversable) -> Table:
    """Read CSV (comma, semicolon or tab), XLSX or ODS; empty rows are skipped, cells are trimmed.

    CSV is RFC 4180 in UTF-8 with or without a byte order mark, or UTF-16 with one. Other bytes are read
    as Windows-1252, the usual export of an older spreadsheet, and a warning says from which row.

    Raises:
        UnusableInput: the file is missing, too large, not text, or has no heading row.
    """
    table = Table(name=str(source))
    data = _bytes(source)
    if Path(source.name).suffix.lower() in _SPREADSHEETS:
        grid: Iterable[tuple[int, list[str]]] = _spreadsheet(data, table)
    else:
        grid = _delimited(_text(data, table), table)
    _fill(grid, table)
    return table


def _bytes(source: Traversable) -> bytes:
    try:
        with source.open("rb") as stream:
            data: bytes = stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise UnusableInput(
            "there is no such file", where=str(source), remedy="Check the name; it is read from the day folder."
        ) from None
    except IsADirectoryError:
        raise UnusableInput("is a folder, not a file", where=str(source), remedy="Name the file itself.") from None
    except OSError as error:
        raise UnusableInput(f"cannot be read ({error.strerror or error})", where=str(source)) from error
    if len(data) > LARGEST_FILE:
        raise UnusableInput(
            f"is larger than {LARGEST_FILE // (1024 * 1024)} MB",
            where=str(source),
            remedy="Split it into several files.",
        )
    return data


def _text(data: bytes, table: Table) -> str:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError as error:
            raise _not_text(table, data, error.start) from None
    if b"\0" in data:
        raise _not_text(table, data, data.index(b"\0"))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        try:
            text = data.decode("cp1252")
        except UnicodeDecodeError as worse:
            raise _not_text(table, data, worse.start) from None
        table.problems.append(
            Problem(
                where=f"{table.name}, row {row}",
                what="the file is not UTF-8 from here on; it was read as Windows-1252",
                remedy="Look whether accented letters and dashes came out right, or save it as “CSV UTF-8”.",
            )
        )
        return text


def _not_text(table: Table, data: bytes, at: int) -> UnusableInput:
    row = data[:at].count(b"\n") + 1
    return UnusableInput(
        f"byte {data[at] if at < len(data) else 0:#04x} in row {row} is not text",
        where=table.name,
        remedy="Save the sheet as “CSV UTF-8” or XLSX and name that file.",
    )


def _delimited(text: str, table: Table) -> Iterator[tuple[int, list[str]]]:
    delimiter = _delimiter(text)
    stream = io.StringIO(text, newline="")
    reader = csv.reader(stream, delimiter=delimiter, strict=False)
    line = 0
    while True:
        line += 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise UnusableInput(
                f"row {line} cannot be read ({error})",
                where=table.name,
                remedy="Look for a quotation mark that is never closed.",
            ) from None
        yield line, cells


def _delimiter(text: str) -> str:
    """The delimiter that the heading row uses; a comma where it names one column only."""
    heading = next((line for line in text.splitlines() if line.strip()), "")
    counts = {mark: heading.count(mark) for mark in (",", ";", "\t")}
    best = max(counts, key=lambda mark: counts[mark])  # on a tie the first, the comma
    return best if counts[best] else ","


def _spreadsheet(data: bytes, table: Table) -> Iterator[tuple[int, list[str]]]:
    import python_calamine

    try:
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        sheet = book.get_sheet_by_index(0)
        grid = sheet.to_python(skip_empty_area=False)
    except Exception as error:  # the reader raises its own and the zip reader's errors, and panics as its own type
        raise UnusableInput(
            f"cannot be read as a spreadsheet ({error})",
            where=table.name,
            remedy="Open it in a spreadsheet program and save it again, or save it as CSV.",
        ) from error
    for number, cells in enumerate(grid, start=1):
        yield number, [_cell(value) for value in cells]


def _cell(value: object) -> str:
    """A spreadsheet's cell as text; whole numbers come as floats and lose their ``.0``."""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)


def _fill(grid: Iterable[tuple[int, list[str]]], table: Table) -> None:
    headings: list[str] = []
    for number, cells in grid:
        trimmed = [cell.strip() for cell in cells]
        if not any(trimmed):
            continue
        if not headings:
            headings = _headings(trimmed, table)
            continue
        if len(table.rows) >= MOST_ROWS:
            raise UnusableInput(
                f"has more than {MOST_ROWS:,} rows", where=table.name, remedy="Split it into several files."
            )
        for column, cell in enumerate(trimmed):
            if len(cell) > LONGEST_CELL:
                raise UnusableInput(
                    f"row {number}, column {column + 1} holds {len(cell):,} characters; {LONGEST_CELL:,} is the most",
                    where=table.name,
                    remedy="Look for a quotation mark that is never closed.",
                )
        if len(trimmed) > len(headings) and any(trimmed[len(headings) :]):
            table.problems.append(
                Problem(
                    where=f"{table.name}, row {number}",
                    what=f"{len(trimmed)} cells under {len(headings)} headings; the last ones were left out",
                    remedy="Put a cell that holds a comma in quotation marks.",
                )
            )
        table.rows.append(Row(number, {h: c for h, c in zip(headings, trimmed, strict=False) if h}))
    if not headings:
        raise UnusableInput("is empty", where=table.name, remedy="The first row must name the columns.")
    table.headings = tuple(h for h in headings if h)


def _headings(cells: list[str], table: Table) -> list[str]:
    headings: list[str] = []
    for cell in cells:
        heading = " ".join(cell.casefold().split())
        if heading and heading in headings:
            table.problems.append(
                Problem(
                    where=f"{table.name}, row 1",
                    what=f"the column “{heading}” comes twice; the first one counts",
                    remedy="Rename or delete one of them.",
                )
            )
            heading = ""
        headings.append(heading)
    return headings
