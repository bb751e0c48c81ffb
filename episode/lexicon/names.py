"""When two written names are the same name."""

from __future__ import annotations

import re
import unicodedata

_DASHES = dict.fromkeys(map(ord, "-\u2010\u2011\u2012\u2013\u2014\u2212_"), " ")
_QUOTES = {ord("\u2018"): "'", ord("\u2019"): "'", ord("\u02bc"): "'", ord("\u201c"): '"', ord("\u201d"): '"'}
_SPACE = re.compile(r"\s+")


def name_key(name: str) -> str:
    """A name reduced for comparison: case folded, hyphens as spaces, straight quotes, single spaces.

    ``Shell-Edged Ware`` and ``shell edged ware`` are the same name.
    """
    if name.isascii():  # nearly all are: no quotes, and nothing to compose
        return " ".join(name.replace("-", " ").replace("_", " ").lower().split())
    plain = unicodedata.normalize("NFKC", name).translate(_QUOTES).translate(_DASHES)
    return _SPACE.sub(" ", plain).strip().casefold()
