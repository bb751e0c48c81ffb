"""Whether a statement is about a part or a variety of the thing, of which the record's dates need not hold."""

from __future__ import annotations

import re

from episode.claims.statements import Statement
from episode.models import Kind, Stance
from episode.record.load import name_key

_WHOLE = re.compile(
    r"\b(?:it|they|these|those|this|that|them|he|she|ones?|thing|things|stuff|sort|type|lot)\b", re.IGNORECASE
)
_WITH = re.compile(r"^\s+(?:with|without|in|made of|made from|of|that had|which had)\s+\w", re.IGNORECASE)


def speaks_of_a_part(statement: Statement) -> bool:
    """An introduction or withdrawal whose doer is no pronoun and not the thing alone.

    Such as "the farthing with the wren came in", or "nylon bristles came in" over a toothbrush.
    """
    if statement.aspect not in {"introduced", "withdrawn"}:
        return False
    text, at = statement.scene.text, statement.at
    named = [
        p for p in statement.scene.mentions
        if p.at < at and p.mention.kind in {Kind.OBJECT, Kind.WARE} and p.mention.stance is not Stance.COMPARED
    ]  # fmt: skip
    if named:
        return bool(_WITH.match(text[named[-1].until : at]))
    before = f" {name_key(text[:at])} "
    spoken = any(re.search(rf"\b{re.escape(name_key(n))}(?:s|es)?\b", before) for n in statement.names if n)
    return not spoken and not _WHOLE.search(before) and not statement.people
