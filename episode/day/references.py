"""``references.csv``: the references that the person found for what was said."""

from __future__ import annotations

from pathlib import Path

from episode.day.tables import read_table
from episode.errors import UnusableInput
from episode.models import Problem, Reference

NAME = "references.csv"
_CLAIM = {"claim", "statement", "quote", "said", "id", "claim id"}
_REFERENCE = {"reference", "ref", "source", "citation", "link", "url", "isbn", "doi"}
_NOTE = {"note", "notes", "comment", "comments"}


def read_references(folder: Path) -> tuple[tuple[Reference, ...], tuple[Problem, ...]]:
    """Rows of the person's references, and what was wrong with them. No file gives no rows.

    Raises:
        UnusableInput: not a table, or it lacks a column for the statement or for the reference.
    """
    path = folder / NAME
    if not path.exists():
        return (), ()
    table = read_table(path)
    plain = [heading.lower().strip() for heading in table.headings]
    claim, reference, note = (_column(plain, names) for names in (_CLAIM, _REFERENCE, _NOTE))
    if claim is None or reference is None:
        raise UnusableInput(
            "needs the columns `claim` (or statement) and `reference`; it has " + ", ".join(table.headings),
            where=f"{NAME}, row 1",
            remedy="Headings: claim,reference,note",
        )
    rows: list[Reference] = []
    problems = list(table.problems)
    for number, cells in table.rows:
        said, read_in, remark = (cells[i] if i is not None and i < len(cells) else "" for i in (claim, reference, note))
        if said and read_in:
            rows.append(Reference(claim=said, reference=read_in, note=remark, row=number))
        else:
            missing = "statement" if not said else "reference"
            remedy = "Fill it in, or delete the row."
            problems.append(Problem(where=f"{NAME}, row {number}", what=f"has no {missing}", remedy=remedy))
    return tuple(rows), tuple(problems)


def _column(headings: list[str], names: set[str]) -> int | None:
    return next((index for index, heading in enumerate(headings) if heading in names), None)
