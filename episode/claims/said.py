"""Years and intervals in plain words for notes."""

from __future__ import annotations


def year(value: int) -> str:
    """``1872`` or ``55 BC``."""
    return str(value) if value > 0 else f"{1 - value} BC"


def years(first: int | None, last: int | None) -> str:
    """``1870``, ``1780 to 1830``, ``1870 or later``, ``1750 or earlier``."""
    if first is None and last is None:
        return "no years"
    if first is None:
        return f"{year(last or 0)} or earlier"
    if last is None:
        return f"{year(first)} or later"
    return year(first) if first == last else f"{year(first)} to {year(last)}"
