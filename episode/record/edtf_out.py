"""Years written as EDTF (ISO 8601-2:2019) level 1."""

from __future__ import annotations

LARGEST = 9999
"""An interval of level 1 holds years of four digits; beyond, only a single ``Y`` year can be written."""


def year(value: int, mark: str = "") -> str:
    """A year with its qualifier: ``1872``, ``-0054``, ``0043~``, ``Y-10000``."""
    sign = "-" if value < 0 else ""
    if abs(value) > LARGEST:
        return f"Y{value}"
    return f"{sign}{abs(value):04d}{mark}"


def interval(first: int | None, last: int | None, first_mark: str = "", last_mark: str = "") -> str:
    """An interval, open (``..``) where an end is ``None``; empty where level 1 cannot write it."""
    if any(end is not None and abs(end) > LARGEST for end in (first, last)):
        return ""
    if first is None and last is None:
        return ""
    if first is not None and first == last and first_mark == last_mark:
        return year(first, first_mark)
    start = ".." if first is None else year(first, first_mark)
    end = ".." if last is None else year(last, last_mark)
    return f"{start}/{end}"


def mark(*, approximate: bool, uncertain: bool) -> str:
    """The qualifier: ``~`` approximate, ``?`` uncertain, ``%`` both, nothing otherwise."""
    if approximate and uncertain:
        return "%"
    return "~" if approximate else "?" if uncertain else ""
