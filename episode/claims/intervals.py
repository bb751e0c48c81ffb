"""How two intervals of years stand to each other. Ends are inclusive; ``None`` is open."""

from __future__ import annotations

from typing import Literal

Relation = Literal["inside", "contains", "overlaps", "apart"]

FOREVER = 10**9


def relation(first: tuple[int | None, int | None], second: tuple[int | None, int | None], give: int = 0) -> Relation:
    """Of ``first`` to ``second``, whose ends are widened by ``give`` years."""
    a, b = closed(first)
    c, d = closed(second)
    if c - give <= a and b <= d + give:
        return "inside"
    if a <= c and d <= b:
        return "contains"
    if b < c or d < a:
        return "apart"
    return "overlaps"


def gap(first: tuple[int | None, int | None], second: tuple[int | None, int | None]) -> int:
    """Years between two intervals; 0 where they touch or overlap."""
    a, b = closed(first)
    c, d = closed(second)
    return max(c - b, a - d, 0)


def closed(interval: tuple[int | None, int | None]) -> tuple[int, int]:
    """The interval with open ends as far away as years go."""
    first, last = interval
    return (-FOREVER if first is None else first), (FOREVER if last is None else last)
