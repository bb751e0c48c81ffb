"""Claims, promises and cautions."""

from __future__ import annotations

from enum import StrEnum
from typing import Literal

from pydantic import Field

from episode.models.base import Seconds, Value, Year
from episode.models.record import Grade


class Verdict(StrEnum):
    """How a claim stands against the record."""

    SUPPORTED = "supported"
    CONTRADICTED = "contradicted"
    IMPRECISE = "imprecise"
    UNREFERENCED = "unreferenced"


ClaimKind = Literal["date", "period", "maker", "place", "person", "quantity", "superlative", "material", "origin"]


class Evidence(Value):
    """What a verdict rests on: a statement, its source as a short reference, and the years it gives."""

    statement: str
    source: str
    from_: Year | None = Field(default=None, alias="from")
    to: Year | None = None
    grade: Grade = Grade.SECONDARY


class Claim(Value):
    """A checkable statement made on camera."""

    id: str
    clip: str
    start: Seconds
    end: Seconds
    quote: str
    about: str | None
    find: str | None
    kind: ClaimKind
    edtf: str | None
    from_: Year | None = Field(alias="from")
    to: Year | None
    verdict: Verdict
    evidence: tuple[Evidence, ...] = ()
    reference: str | None = None
    note: str = ""
    moment: str | None = None
    convention: str = ""
    aspect: str = "made"
    """What a date is of: ``made``, ``introduced``, ``patent`` and so on. Only ``made`` dates the find itself."""
    struck: bool = False
    """A person struck it from the description."""
    wording: str | None = None
    """How a person wants the description to say it; ``None`` leaves it to the draft."""
    decided: tuple[str, ...] = ()
    """The actions of a person that changed it, the last one last."""


PromiseKind = Literal["link", "detail", "question", "callback", "thanks", "sponsor", "event"]


class Promise(Value):
    """Something said on camera that the description must now carry or the person must do."""

    id: str
    clip: str
    start: Seconds
    end: Seconds
    quote: str
    kind: PromiseKind
    text: str
    kept: bool = False
    by: str | None = None
    moment: str | None = None
    decided: tuple[str, ...] = ()
    """The actions of a person that changed it."""


class Caution(Value):
    """Something that law, permit or safety may have to do with; worded as "may be", never as advice to keep or move."""

    kind: Literal["treasure", "remains", "ordnance", "wreck", "ivory", "permit", "sharps", "tide"]
    text: str
    moments: tuple[str, ...] = ()
    finds: tuple[str, ...] = ()
    source: str = ""
