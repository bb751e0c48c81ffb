"""The tables of a day folder, as rows of text under the headings that the person chose."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from episode.errors import UnusableInput
from episode.models import Problem
from episode.sheets import read_sheet


class Table(NamedTuple):
    """Headings and rows; ``rows`` pairs each row's number in the file (headings are row 1) with its cells."""

    headings: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    problems: tuple[Problem, ...]


def read_table(path: Path) -> Table:
    """The table in ``path`` (see ``read_sheet``). A row longer than the headings keeps its surplus under ``column N``.

    Raises:
        UnusableInput: no headings, or not a table.
    """
    sheet, problems = read_sheet(path, path.name)
    if not sheet:
        raise UnusableInput("is empty", where=path.name, remedy="The first row holds headings: find, time, object.")
    (_, headings), *rows = sheet
    widest = max((len(cells) for _, cells in rows), default=0)
    surplus = (f"column {index + 1}" for index in range(len(headings), widest))
    return Table((*headings, *surplus), tuple((number, tuple(cells)) for number, cells in rows), tuple(problems))
