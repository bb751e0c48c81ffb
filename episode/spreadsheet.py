"""Spreadsheets, read by a process of its own: a small file may ask for more memory than a machine has.

A workbook with one cell at the far corner is laid out whole by readers, and native code that finds no memory ends
its process. So the reader gets a process that may end, and may take only so much.

Run as ``python -m episode.spreadsheet`` it reads a workbook from standard input and writes the first sheet's rows to
standard output, one JSON list of texts a line.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import json
import subprocess
import sys
import zipfile
from collections.abc import Iterator

from episode.errors import UnusableInput

MOST_MEMORY = 1 << 30
"""Bytes that reading may take; a table of 100,000 rows and 50 columns takes a third of it."""
MOST_SECONDS = 60
"""Seconds of one processor that reading may take."""
_LARGEST_UNPACKED = 200_000_000
_LARGEST_TEXT = 50_000_000
_REFUSED = 3


def spreadsheet_rows(data: bytes, name: str) -> Iterator[tuple[int, list[str]]]:
    """Rows of the first sheet of an XLSX, XLS or ODS file, numbered as it numbers them, without empty cells at the end.

    Raises:
        UnusableInput: no spreadsheet, or one that needs too much memory or time.
    """
    _refuse_bombs(data, name)
    try:
        ran = subprocess.run(  # noqa: S603 - our own arguments, no shell
            [sys.executable, "-m", __name__], input=data, capture_output=True, timeout=5 * MOST_SECONDS, check=False
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise _unusable(name, str(error)) from error
    if ran.returncode == _REFUSED:
        raise _unusable(name, ran.stderr.decode("utf-8", "replace").strip()[:200])
    if ran.returncode != 0:
        raise UnusableInput(
            "takes more memory or time to read than any log needs",
            where=name,
            remedy="Look for a cell far outside the table and delete it, or save the sheet as CSV.",
        )
    for number, line in enumerate(ran.stdout.splitlines(), start=1):
        yield number, json.loads(line)


def _refuse_bombs(data: bytes, name: str) -> None:
    """A spreadsheet is a ZIP archive, and a small one may unpack to fill the memory."""
    stream = io.BytesIO(data)
    if not zipfile.is_zipfile(stream):
        return
    try:
        with zipfile.ZipFile(stream) as archive:
            unpacked = sum(item.file_size for item in archive.infolist())
    except (zipfile.BadZipFile, NotImplementedError, ValueError) as error:
        raise _unusable(name, str(error)) from error
    if unpacked > _LARGEST_UNPACKED:
        raise UnusableInput("unpacks to more than 200 MB", where=name, remedy="Save the sheet alone, as CSV.")


def _unusable(name: str, why: str) -> UnusableInput:
    return UnusableInput(
        f"cannot be read as a spreadsheet ({why})",
        where=name,
        remedy="Open it in a spreadsheet program and save it again, or save it as CSV.",
    )


def _child() -> int:
    _limit()
    import python_calamine

    out = io.TextIOWrapper(sys.stdout.buffer, encoding="utf-8", newline="\n", write_through=False)
    try:
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(sys.stdin.buffer.read()))
        sheet = book.get_sheet_by_index(0)
        length = 0
        left = [""] * (sheet.start[1] if sheet.start else 0)  # rows begin where the first column with anything does
        for cells in sheet.iter_rows():
            row = left + [_cell(value) for value in cells]
            while row and not row[-1].strip():
                row.pop()
            length += sum(map(len, row)) + len(row)
            if length > _LARGEST_TEXT:
                return 1
            out.write(json.dumps(row) + "\n")
        out.flush()
    except MemoryError:
        return 1
    except Exception as error:  # the reader raises its own and the zip reader's errors, and panics as its own type
        sys.stderr.write(str(error))
        return _REFUSED
    return 0


def _limit() -> None:
    """Bound memory and processor time where the system can; elsewhere a failure stays in this process all the same."""
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _cell(value: object) -> str:
    """A spreadsheet's cell as text; whole numbers come as floats and lose their ``.0``."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, dt.datetime):
        return value.isoformat(sep=" ")
    if isinstance(value, dt.timedelta):
        seconds = int(value.total_seconds())
        return f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}"
    return "" if value is None else str(value)


if __name__ == "__main__":
    sys.exit(_child())
