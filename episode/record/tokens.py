"""Text cut into tokens once, so that everything after it walks a list and never re-reads the text."""

from __future__ import annotations

import re
from dataclasses import dataclass

LONGEST_NUMBER = 9
"""More digits than this are no year, no count and no age: the token stays, its value does not."""

_TOKEN = re.compile(r"\d+|['’]s\b|[^\W\d_]+(?:['’](?!s\b)[^\W\d_]+)*|±|[^\w\s]|_")
_DASHES = frozenset("-–—‐‑−")


@dataclass(slots=True)
class Token:
    """One token: ``word`` in lower case, ``value`` where it is a number of digits.

    ``close`` says that it follows the one before without a space. ``digits`` counts digits written.
    """

    word: str
    raw: str
    at: int
    until: int
    close: bool
    value: int | None = None
    digits: int = 0

    @property
    def is_number(self) -> bool:
        """Digits, however many."""
        return self.digits > 0


def tokens(text: str) -> list[Token]:
    """Words in lower case, runs of digits, single marks; every dash becomes ``-`` and ``’`` becomes ``'``."""
    found: list[Token] = []
    last = -1
    for match in _TOKEN.finditer(text):
        raw = match.group()
        at, until = match.span()
        if raw[0] in _DASHES:
            token = Token("-", raw, at, until, at == last)
        elif raw[0].isdigit():
            small = len(raw) <= LONGEST_NUMBER and raw.isascii()
            token = Token(raw if small else "#", raw, at, until, at == last, int(raw) if small else None, len(raw))
        else:
            token = Token(raw.lower().replace("’", "'"), raw, at, until, at == last)
        found.append(token)
        last = until
    return found
