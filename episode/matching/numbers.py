"""Find numbers that are missing from the log or stand in it twice."""

from __future__ import annotations

from collections.abc import Sequence

from episode.models import LogEntry, Problem

_MOST_MISSING = 12


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
    return problems + _gaps(by_number)


def _gaps(by_number: dict[str, list[int]]) -> list[Problem]:
    if not by_number or not all(number.isascii() and number.isdigit() and len(number) < 9 for number in by_number):
        return []
    there = {int(number) for number in by_number}
    low, high = min(there), max(there)
    if high - low - len(there) >= _MOST_MISSING:
        return []
    missing = [number for number in range(low, high) if number not in there]
    if not missing:
        return []
    shown = ", ".join(map(str, missing))
    return [
        Problem(
            where="find log",
            what=f"the numbers run from {low} to {high} without {shown}",
            remedy="If a row was lost, put it back; if the number was never used, nothing is wrong.",
            level="note",
        )
    ]
