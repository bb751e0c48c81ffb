"""Find numbers that are missing from the log or stand in it twice."""

from __future__ import annotations

import re
from collections.abc import Sequence

from episode.models import LogEntry, Problem

_MOST_MISSING = 12
_CODE = re.compile(r"(.*?)(\d{1,8})", re.ASCII | re.DOTALL)
"""A number, or a code that ends in one."""


def number_problems(rows: Sequence[LogEntry]) -> list[Problem]:
    """Doubled numbers, rows without one, and gaps in a plain run of numbers."""
    problems: list[Problem] = []
    by_number: dict[str, list[int]] = {}
    for row in rows:
        number = row.find.strip()
        if number:
            by_number.setdefault(number.lower(), []).append(row.row)
        else:
            problems.append(
                Problem(where=f"find log, row {row.row}", what="has no find number", remedy="Give the find a number.")
            )
    for number, places in by_number.items():
        if len(places) > 1:
            shown = ", ".join(str(place) for place in places)
            problems.append(
                Problem(
                    where=f"find log, rows {shown}",
                    what=f"find number {number} stands for {len(places)} rows",
                    remedy="Give each find a number of its own; until then they cannot be told apart.",
                )
            )
    return problems + _gaps(rows)


def missing_numbers(rows: Sequence[LogEntry]) -> tuple[str, ...]:
    """Numbers that a run leaves out, each written as the run writes them: ``9``, ``SK-07``.

    A run is of numbers that share all before their last digits; one with as many gaps as that is none.
    """
    runs: dict[str, dict[int, str]] = {}
    for row in rows:
        if row.find != unnumbered(row) and (match := _CODE.fullmatch(row.find.strip())):
            runs.setdefault(match[1].casefold(), {}).setdefault(int(match[2]), row.find.strip())
    missing: list[str] = []
    for run in runs.values():
        low, high = min(run), max(run)
        if len(run) < 2 or high - low - len(run) >= _MOST_MISSING:
            continue
        for number in range(low, high):
            if number not in run:
                last = _CODE.fullmatch(run[max(n for n in run if n < number)])
                before, digits = (last[1], last[2]) if last else ("", "")
                missing.append(before + str(number).zfill(len(digits) if digits.startswith("0") else 0))
    return tuple(missing)


def unnumbered(row: LogEntry) -> str:
    """What the reading of the log calls a row without a number."""
    return f"row {row.row}"


def _gaps(rows: Sequence[LogEntry]) -> list[Problem]:
    missing = missing_numbers(rows)
    if not missing:
        return []
    return [
        Problem(
            where="find log",
            what=f"the numbers run without {', '.join(missing)}",
            remedy="If a row was lost, put it back; if the number was never used, nothing is wrong.",
            level="note",
        )
    ]
