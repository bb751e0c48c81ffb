"""Published facts and dates."""

from __future__ import annotations

from enum import StrEnum

from pydantic import Field

from episode.models.base import Value, Year


class Grade(StrEnum):
    """How well a fact is known. ``from memory`` can never make a claim supported."""

    PRIMARY = "primary"
    SECONDARY = "secondary"
    MEMORY = "from memory"


class Fact(Value):
    """One published fact about a type, ware, maker, period, person or event.

    ``topic`` says what the years (or the place) are of: ``range`` (made or in use between), ``introduced``,
    ``withdrawn``, ``reign``, ``period``, ``active`` (a firm or a person at work), ``life``, ``patent``,
    ``event``, ``place``, ``material``, ``origin``, ``rule``.
    """

    about: str
    topic: str
    statement: str
    from_: Year | None = Field(default=None, alias="from")
    to: Year | None = None
    place: str = ""
    person: str = ""
    source: str
    grade: Grade
    note: str = ""


class DateSpan(Value):
    """A date phrase read as an inclusive interval of years.

    ``None`` for an end means open. ``edtf`` is ISO 8601-2 level 1. ``at`` and ``until`` are character
    positions of the phrase in the text it was read from.
    """

    text: str
    at: int
    until: int
    from_: Year | None = Field(alias="from")
    to: Year | None
    edtf: str
    kind: str
    """``year``, ``decade``, ``century``, ``range``, ``period``, ``reign``, ``age``, ``before``, ``after``."""
    approximate: bool = False
    uncertain: bool = False
    convention: str = ""
    """Which published convention fixed the ends, where conventions differ."""
    note: str = ""
