"""Vocabulary."""

from __future__ import annotations

from enum import StrEnum

from pydantic import Field

from episode.models.base import Value, Year


class Kind(StrEnum):
    """What a vocabulary term names."""

    OBJECT = "object"
    WARE = "ware"
    MATERIAL = "material"
    MAKER = "maker"
    PLACE = "place"
    PERIOD = "period"
    FEATURE = "feature"


class Term(Value):
    """One row of a vocabulary pack. Maps to SKOS: prefLabel, altLabel, hiddenLabel, broader, scopeNote."""

    term: str
    kind: Kind
    also: tuple[str, ...] = ()
    heard_as: tuple[str, ...] = ()
    broader: str | None = None
    broader_more: tuple[str, ...] = ()
    """Further terms that it stands below; ``broader`` alone is the main line upward."""
    material: str | None = None
    from_: Year | None = Field(default=None, alias="from")
    to: Year | None = None
    source: str | None = None
    note: str | None = None
    pack: str = ""
    match: str | None = None
    """URI of a matching concept in a published thesaurus, where the terms agree."""
    address: str | None = None
    """The term's own URI, where it comes from a published thesaurus."""
    exact: tuple[str, ...] = ()
    close: tuple[str, ...] = ()
    """URIs of concepts elsewhere that are the same, and that are nearly the same (skos:exactMatch, closeMatch)."""
    everyday: bool = False
    """The term is a common word ("pin", "seal", "marble"): a mention only where the sense is the trade's."""
    everyday_names: tuple[str, ...] = ()
    """Those of its other names that are common words ("stem", "onion", "ring")."""
