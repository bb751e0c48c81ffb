"""Reading tables that people keep: CSV in whatever dialect, or a spreadsheet, as rows of text cells."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterator
from importlib.resources.abc import Traversable
from pathlib import Path

from episode.errors import UnusableInput
from episode.models import Problem
from episode.spreadsheet import spreadsheet_rows

LARGEST_BYTES = 50_000_000
MOST_ROWS = 100_000
MOST_COLUMNS = 1_000
LONGEST_CELL = 20_000
LONGEST_ROW = 1_000_000
MOST_LINES = 1_000_000
"""Lines of a delimited file, empty ones included."""
_SPREADSHEETS = {".xlsx", ".xlsm", ".xls", ".ods"}
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""What a cell begins with that some spreadsheet takes for a formula (the last four are the full-width signs)."""
_DELIMITERS = (",", ";", "\t", "|")


def read_sheet(source: Traversable, name: str) -> tuple[list[tuple[int, list[str]]], list[Problem]]:
    """The rows of ``source`` that hold any text, cells trimmed, each with its number as a spreadsheet counts.

    CSV is RFC 4180 with comma, semicolon, tab or bar, in UTF-8 with or without a byte order mark, or UTF-16 with
    one. Other bytes are read as Windows-1252, the usual export of an older spreadsheet, and a problem says from
    which row. Of XLSX and ODS the first sheet is read. ``name`` is what messages call the file.

    Raises:
        UnusableInput: missing, too large, not text, or no readable spreadsheet.
    """
    problems: list[Problem] = []
    data = _bytes(source, name)
    if Path(source.name).suffix.lower() in _SPREADSHEETS:
        grid = spreadsheet_rows(data, name)
    else:
        grid = _delimited(_text(data, name, problems), name)
    rows: list[tuple[int, list[str]]] = []
    for number, cells in grid:
        if len(cells) > MOST_COLUMNS:
            raise UnusableInput(
                f"row {number} has {len(cells):,} columns; {MOST_COLUMNS:,} is the most",
                where=name,
                remedy="Delete what stands far to the right of the table.",
            )
        trimmed = [_said(cell.strip()) for cell in cells]
        if not any(trimmed):
            continue
        if len(rows) > MOST_ROWS:
            raise UnusableInput(f"has more than {MOST_ROWS:,} rows", where=name, remedy="Split it into several files.")
        _refuse_long_cells(trimmed, name, number)
        rows.append((number, trimmed))
    return rows, problems


def safe_cell(value: str | int | float | None) -> str | int | float:
    """A cell that no spreadsheet takes for a formula: an apostrophe stands before what might be one.

    ``read_sheet`` takes it away again.
    """
    if value is None:
        return ""
    return "'" + value if isinstance(value, str) and value.startswith(_FORMULA) else value


def _said(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_FORMULA) else cell


def _refuse_long_cells(cells: list[str], name: str, number: int) -> None:
    for column, cell in enumerate(cells, start=1):
        if len(cell) > LONGEST_CELL:
            raise UnusableInput(
                f"row {number}, column {column} holds {len(cell):,} characters; {LONGEST_CELL:,} is the most",
                where=name,
                remedy="Look for a quotation mark that is never closed.",
            )


def _bytes(source: Traversable, name: str) -> bytes:
    try:
        with source.open("rb") as stream:
            data: bytes = stream.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise UnusableInput(
            "there is no such file", where=name, remedy="Check the name; it is read from the day folder."
        ) from None
    except IsADirectoryError:
        raise UnusableInput("is a folder, not a file", where=name, remedy="Name the file itself.") from None
    except OSError as error:
        raise UnusableInput(f"cannot be read ({error.strerror or error})", where=name) from error
    if len(data) > LARGEST_BYTES:
        raise UnusableInput(
            f"is larger than {LARGEST_BYTES // 1_000_000} MB",
            where=name,
            remedy="Split it into several files.",
        )
    return data


def _text(data: bytes, name: str, problems: list[Problem]) -> str:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError as error:
            raise _not_text(name, data, error.start) from None
    if b"\0" in data:
        raise _not_text(name, data, data.index(b"\0"))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        try:
            text = data.decode("cp1252")
        except UnicodeDecodeError as worse:
            raise _not_text(name, data, worse.start) from None
        problems.append(
            Problem(
                where=f"{name}, row {row}",
                what="the file is not UTF-8 from here on; it was read as Windows-1252",
                remedy="Look whether accented letters and dashes came out right, or save it as “CSV UTF-8”.",
            )
        )
        return text


def _not_text(name: str, data: bytes, at: int) -> UnusableInput:
    row = data[:at].count(b"\n") + 1
    return UnusableInput(
        f"byte {data[at] if at < len(data) else 0:#04x} in row {row} is not text",
        where=name,
        remedy="Save the sheet as “CSV UTF-8” or XLSX and name that file.",
    )


def _delimited(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    delimiter = _delimiter(text)
    lines = _Lines(text, name)
    reader = csv.reader(lines, delimiter=delimiter, strict=False)
    line = 0
    while True:
        line += 1
        lines.begin_row(line)
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise UnusableInput(
                f"row {line} cannot be read ({error})",
                where=name,
                remedy="Look for a quotation mark that is never closed.",
            ) from None
        yield line, cells


class _Lines:
    """The lines of a table for the CSV reader, which itself would read a row or a file of any length."""

    def __init__(self, text: str, name: str) -> None:
        self._stream = io.StringIO(text, newline="")
        self._name = name
        self._row = 0
        self._length = 0

    def begin_row(self, number: int) -> None:
        if number > MOST_LINES:
            raise UnusableInput(
                f"has more than {MOST_LINES:,} lines", where=self._name, remedy="Delete the empty ones."
            )
        self._row, self._length = number, 0

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        line = self._stream.readline(LONGEST_ROW + 1)
        if not line:
            raise StopIteration
        self._length += len(line)
        if self._length > LONGEST_ROW:
            raise UnusableInput(
                f"row {self._row} is longer than {LONGEST_ROW:,} characters",
                where=self._name,
                remedy="Look for a quotation mark that is never closed, and for columns far to the right.",
            )
        return line


def _delimiter(text: str) -> str:
    """The delimiter that the heading row uses; a comma where it names one column only."""
    heading = next((line for line in io.StringIO(text, newline=None) if line.strip()), "")
    counts = {mark: heading.count(mark) for mark in _DELIMITERS}
    best = max(counts, key=lambda mark: counts[mark])  # on a tie the first, the comma
    return best if counts[best] else ","
