"""A short reference in words from a CSL-JSON item.

A plain author-year form of our own: authors (or editors, or the title where nobody is named), year, short
title, publisher or container. It is meant for a line beside a claim, not for a bibliography.
"""

from __future__ import annotations

from typing import Any


def short_reference(item: dict[str, Any]) -> str:
    """``Noël Hume 1969, A Guide to Artifacts of Colonial America (Knopf)``; never empty."""
    title = str(item.get("title-short") or item.get("title") or "").strip()
    year = _year(item)
    people = _people(item.get("author") or item.get("editor") or [])
    head = " ".join(part for part in (people or title, year) if part)
    tail = title if people else ""
    holder = str(item.get("container-title") or item.get("publisher") or "").strip()
    reference = ", ".join(part for part in (head, tail) if part)
    if holder and holder not in reference:
        reference += f" ({holder})"
    return reference or str(item.get("id", "unnamed source"))


def _people(names: list[dict[str, Any]]) -> str:
    said = [str(n.get("literal") or n.get("family") or n.get("given") or "").strip() for n in names]
    said = [name for name in said if name]
    if len(said) > 2:
        return f"{said[0]} and others"
    return " and ".join(said)


def _year(item: dict[str, Any]) -> str:
    issued = item.get("issued") or {}
    parts = issued.get("date-parts") or []
    if parts and parts[0]:
        return str(parts[0][0])
    return str(issued.get("raw") or issued.get("literal") or "")
