"""Marks and measurements that published tables turn into years."""

from __future__ import annotations

import re

from episode.record.diamond import read_diamond
from episode.record.pipe_bores import read_bores
from episode.record.rd_numbers import read_rd_number
from episode.record.reading import Mark

_RD = re.compile(
    r"^\s*(?:rd|r\.?d\.?|regd?|registered)\.?\s*(?:no|number|design(?: no| number)?)?\.?\s*:?\s*(?P<rest>.*)$", re.I
)
_DIAMOND = re.compile(
    r"^\s*(?:registration |registry |kite |design )?(?:diamond|kite|lozenge)\s*(?:mark)?\s*:?\s*(?P<rest>.*)$", re.I
)
_PIPES = re.compile(r"^\s*(?:clay )?(?:pipe stems?|pipe bores?|pipes?|bores?|stems?)\s*:?\s*(?P<rest>\d.*)$", re.I)
LONGEST = 500


def read_mark(text: str) -> Mark | None:
    """A mark as years, or ``None`` where the text is no mark that is known here.

    ``Rd 821265`` (a registered design number, 1884 to 1965); ``diamond Q B 23 class IV`` (a registration
    diamond: year letter, month letter, day; ``series 1`` or ``series 2`` where the layout tells);
    ``pipes 4:22 5:42 6:6`` (stem bores in 64ths of an inch, and how many of each).

    Raises:
        UnusableInput: it is such a mark, and cannot be one: a number of no year, a letter of no month.
    """
    text = text[:LONGEST]
    for pattern, reader in ((_RD, read_rd_number), (_DIAMOND, read_diamond), (_PIPES, read_bores)):
        match = pattern.match(text)
        if match and re.search(r"\d|\b[a-z]\b", match.group("rest"), re.I):
            return reader(match.group("rest"))
    return None
