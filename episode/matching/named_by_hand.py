"""A name that a person gives a moment: a term of the vocabulary, or words of their own."""

from __future__ import annotations

from collections.abc import Sequence

from episode.matching.kinship import Kinship
from episode.matching.working import Working
from episode.models import Mention, Moment

UNKNOWN = frozenset({"unknown", "unidentified"})
"""Words that say that nobody knows its name."""


def name_by_hand(found: Working, value: object, kin: Kinship) -> str:
    """Give the moment its name; in words what stands against it.

    Words that are a term's name give its term too. Free words keep the old term where they hold its name
    ("button with an anchor" is a button), and take it away where they do not.
    """
    if not isinstance(value, str) or not value.strip():
        return f"{value!r} is no name"
    words = " ".join(value.split())
    row = kin.term(words)
    if words.casefold().strip("?. ") in UNKNOWN:
        found.name = (None, "")
    elif row is not None:
        found.name = (row.term, row.term if words.casefold() == row.term.casefold() else words)
    else:
        before = found.moment.term
        found.name = (before if before is not None and before in kin.read(words) else None, words)
    found.terms |= {name.casefold() for name in found.name if name}
    return ""


def as_named(mentions: Sequence[Mention], moments: Sequence[Moment], kin: Kinship) -> tuple[Mention, ...]:
    """The mentions with the terms that a person gave: what is said of a renamed find is said of its new term.

    Namings of the old term in a moment that was given words of no term are left out.
    """
    told: dict[Mention, Mention | None] = {}
    for moment in moments:
        if moment.was is None:
            continue
        row = kin.term(moment.term) if moment.term else None
        for mention in moment.mentions:
            if mention.term == moment.was:
                told[mention] = mention.model_copy(update={"term": row.term, "kind": row.kind}) if row else None
    if not told:
        return tuple(mentions)
    changed = (told.get(mention, mention) for mention in mentions)
    return tuple(mention for mention in changed if mention is not None)
