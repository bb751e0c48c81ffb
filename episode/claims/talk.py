"""Who "he" and "she" are, where a monarch was named just before."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from episode.claims.statements import Statement
from episode.models import DateSpan

_WITHIN_S = 30.0
"""A pronoun this long after the name is no longer tied to it (common practice, no source)."""
_HE = re.compile(r"\b(?:he|she)\b", re.IGNORECASE)


@dataclass
class Talk:
    """The monarch named last, and when; statements are given to it in the order of the talk."""

    monarch: DateSpan | None = None
    clip: str = ""
    at: float = 0.0

    def resolved(self, statements: Iterable[Statement]) -> list[Statement]:
        """The statements of one sentence, with the monarch put to a life or reign said of "he" or "she"."""
        found = [self._tied(statement) for statement in statements]
        for statement in found:
            named = statement.span if statement.span and statement.span.kind == "reign" else statement.against
            if named is not None and named.kind == "reign":
                self.monarch, self.clip, self.at = named, statement.scene.sentence.clip, statement.scene.sentence.end
        return found

    def _tied(self, statement: Statement) -> Statement:
        sentence = statement.scene.sentence
        if statement.against or statement.people or statement.aspect not in {"life", "reigned"}:
            return statement
        near = sentence.clip == self.clip and sentence.start - self.at <= _WITHIN_S
        if self.monarch is None or not near or not _HE.search(statement.scene.text[: statement.at]):
            return statement
        return replace(statement, against=self.monarch)
