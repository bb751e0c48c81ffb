"""Rows of a vocabulary table made into terms."""

from __future__ import annotations

from episode.errors import UnusableInput
from episode.lexicon.names import name_key
from episode.lexicon.table import Row, Table
from episode.models import Kind, Problem, Term

COLUMNS = (
    "term", "kind", "also", "heard_as", "broader", "material", "from", "to", "source", "note", "match", "everyday",
    "address", "exact", "close",
)  # fmt: skip
_YES = {"yes", "y", "true", "1", "x"}
_NO = {"", "no", "n", "false", "0"}
_EARLIEST, _LATEST = -4_000_000, 3000


def terms_of(table: Table, pack: str) -> tuple[list[Term], list[Problem]]:
    """The terms of one table, in its order, and what was doubtful in it.

    A doubtful cell is left out and named; the row is kept. Of two rows for one term the first counts.

    Raises:
        UnusableInput: there is no column ``term``.
    """
    problems = list(table.problems)
    if "term" not in table.headings:
        raise UnusableInput(
            f"has no column “term” (its columns: {', '.join(table.headings) or 'none'})",
            where=f"{table.name}, row 1",
            remedy=f"Give the names a column headed “term”. Columns that are read: {', '.join(COLUMNS)}.",
        )
    unknown = [heading for heading in table.headings if heading not in COLUMNS]
    if unknown:
        problems.append(
            Problem(
                where=f"{table.name}, row 1",
                what=f"nothing is read from the column{'s' if len(unknown) > 1 else ''} {', '.join(unknown)}",
                remedy=f"Columns that are read: {', '.join(COLUMNS)}.",
                level="note",
            )
        )
    terms: list[Term] = []
    seen: dict[str, int] = {}
    for row in table.rows:
        where = f"{table.name}, row {row.number}"
        label = _plain(row.cells.get("term", ""))
        key = name_key(label)
        if not key:
            problems.append(Problem(where=where, what="has no term, so it was left out", remedy="Fill in “term”."))
            continue
        if key in seen:
            problems.append(
                Problem(
                    where=where,
                    what=f"“{label}” stands already in row {seen[key]}, which counts",
                    remedy="Put both into one row.",
                )
            )
            continue
        seen[key] = row.number
        terms.append(_term(row, label, pack, where, problems))
    return terms, problems


def _term(row: Row, label: str, pack: str, where: str, problems: list[Problem]) -> Term:
    cells = row.cells
    first, last = _year(cells, "from", where, problems), _year(cells, "to", where, problems)
    if first is not None and last is not None and first > last:
        problems.append(
            Problem(
                where=where,
                what=f"“{label}” begins in {first} and ends in {last}; neither year was used",
                remedy="Swap “from” and “to”; years BC are negative or nought (55 BC is -54).",
            )
        )
        first = last = None
    also = _list(cells.get("also", ""), label)
    heard_as = tuple(n for n in _list(cells.get("heard_as", ""), label) if name_key(n) != name_key(label))
    above = _list(cells.get("broader", ""))
    everyday, everyday_names = _everyday(cells.get("everyday", ""), (*also, *heard_as), where, problems)
    return Term(
        term=label,
        kind=_kind(cells.get("kind", ""), where, problems),
        also=also,
        heard_as=heard_as,
        broader=above[0] if above else None,
        broader_more=above[1:],
        material=cells.get("material") or None,
        from_=first,
        to=last,
        source=cells.get("source") or None,
        note=cells.get("note") or None,
        pack=pack,
        match=cells.get("match") or None,
        everyday=everyday,
        everyday_names=everyday_names,
        address=_plain(cells.get("address", "")) or None,
        exact=_list(cells.get("exact", "")),
        close=_list(cells.get("close", "")),
    )


def _plain(text: str) -> str:
    """A name on one line, without characters that print nothing."""
    return " ".join("".join(c for c in text if c.isprintable() or c.isspace()).split())


def _list(cell: str, label: str = "") -> tuple[str, ...]:
    """The names of a cell, each once; spellings that lead to the same name are kept, the label itself is not."""
    names = (_plain(part) for part in cell.split(";"))
    return tuple(dict.fromkeys(name for name in names if name_key(name) and name != label))


def _kind(cell: str, where: str, problems: list[Problem]) -> Kind:
    if not cell:
        return Kind.OBJECT
    try:
        return Kind(cell.casefold())
    except ValueError:
        problems.append(
            Problem(
                where=where,
                what=f"the kind “{cell}” is not known; it was taken as “object”",
                remedy=f"Kinds are: {', '.join(kind.value for kind in Kind)}.",
            )
        )
        return Kind.OBJECT


def _year(cells: dict[str, str], column: str, where: str, problems: list[Problem]) -> int | None:
    cell = cells.get(column, "").replace("\u2212", "-")
    if not cell:
        return None
    whole = cell.removesuffix(".0")
    sign, digits = ("-", whole[1:]) if whole.startswith("-") else ("", whole)
    if digits.isascii() and digits.isdigit() and len(digits) <= 7:
        year = int(sign + digits)
        if _EARLIEST <= year <= _LATEST:
            return year
    problems.append(
        Problem(
            where=where,
            what=f"“{cell}” under “{column}” is not a year, so it was left out",
            remedy="Write a whole number: 1550, 43, or -54 for 55 BC; put “about” into “note”.",
        )
    )
    return None


def _everyday(cell: str, also: tuple[str, ...], where: str, problems: list[Problem]) -> tuple[bool, tuple[str, ...]]:
    """``yes`` marks the term itself as an everyday word; names in the list mark those among its other names."""
    label = False
    names: list[str] = []
    known = {name_key(name): name for name in also}
    for part in (_plain(part) for part in cell.split(";")):
        if part.casefold() in _YES:
            label = True
        elif name_key(part) in known:
            names.append(known[name_key(part)])
        elif part.casefold() not in _NO:
            problems.append(
                Problem(
                    where=where,
                    what=f"“{part}” under “everyday” is neither yes, no nor one of the term's other names",
                    remedy="Write yes for the term itself, or those of the names under “also” that are common words.",
                )
            )
    return label, tuple(names)
