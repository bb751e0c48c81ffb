"""Years as a person says them, out of the astronomical integers that rooms exchange."""

from __future__ import annotations

_EARLY = 1000
"""Years before this one are said with AD: "AD 43" is a date where "43" is a number (common practice, no source)."""


def say_years(first: int | None, last: int | None, *, about: bool = False) -> str:
    """An interval in words: "1784", "the 1840s", "the 17th century", "1762 to 1820", "after 1762", "55 BC".

    Whole centuries and decades are named as such whether they are counted from 1600 or from 1601. Both ends
    open gives an empty string. ``about`` puts "about" before it.
    """
    if first is None and last is None:
        return ""
    if first is None:
        words = f"before {_year(last or 0)}"
    elif last is None:
        words = f"{_year(first)} or later"
    else:
        words = _century(first, last) or _decade(first, last) or _span(first, last)
    return f"about {words}" if about else words


def _century(first: int, last: int) -> str:
    if last - first != 99 or first < 0 or first % 100 not in (0, 1):
        return ""
    return f"the {ordinal(first // 100 + 1)} century"


def _decade(first: int, last: int) -> str:
    if last - first != 9 or first < _EARLY or first % 10:
        return ""
    return "" if first % 100 == 0 else f"the {first}s"


def _span(first: int, last: int) -> str:
    if first == last:
        return _year(first)
    if first < _EARLY <= last:
        return f"{_year(first)} to {_year(last)}"
    if first <= 0 and last <= 0:
        return f"{1 - first} to {1 - last} BC"
    if first > 0 and last < _EARLY:
        return f"AD {first} to {last}"
    return f"{_year(first)} to {_year(last)}"


def _year(year: int) -> str:
    if year <= 0:
        return f"{1 - year} BC"
    return f"AD {year}" if year < _EARLY else str(year)


def ordinal(number: int) -> str:
    """1st, 2nd, 3rd, 11th, 21st."""
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"
