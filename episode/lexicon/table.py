"""A person's vocabulary table: rows by heading, with every trouble named."""

from __future__ import annotations

from dataclasses import dataclass, field
from importlib.resources.abc import Traversable

from episode.errors import UnusableInput
from episode.models import Problem
from episode.sheets import read_sheet


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
    """Read CSV, XLSX or ODS under its headings; empty rows are skipped, cells are trimmed (see ``read_sheet``).

    Raises:
        UnusableInput: the file cannot be read as a table, or has no heading row.
    """
    table = Table(name=str(source))
    sheet, table.problems = read_sheet(source, table.name)
    if not sheet:
        raise UnusableInput("is empty", where=table.name, remedy="The first row must name the columns.")
    (_, first), *rows = sheet
    headings = _headings(first, table)
    for number, cells in rows:
        if len(cells) > len(headings) and any(cells[len(headings) :]):
            table.problems.append(
                Problem(
                    where=f"{table.name}, row {number}",
                    what=f"{len(cells)} cells under {len(headings)} headings; the last ones were left out",
                    remedy="Put a cell that holds a comma in quotation marks.",
                )
            )
        table.rows.append(Row(number, {h: c for h, c in zip(headings, cells, strict=False) if h}))
    table.headings = tuple(h for h in headings if h)
    return table


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
