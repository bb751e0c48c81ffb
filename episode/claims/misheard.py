"""Names that the person wrote down, as a recogniser may have heard them."""

from __future__ import annotations

import re

from rapidfuzz import fuzz

NEAR_WORD, NEAR_NAME = 85, 85
"""Likeness of letters, 0 to 100; names of fewer than five letters must be the same."""
SHORTEST = 5


def names_it(heard: str, line: str) -> bool:
    """Whether a word of ``line`` that begins with a capital is the name ``heard``, or nearly: "Dileys" for "Dilys"."""
    if re.search(rf"\b{re.escape(heard)}\b", line, re.IGNORECASE):
        return True
    if len(heard) < SHORTEST:
        return False
    names = [w for w in re.findall(r"[^\W\d_][\w'’-]+", line) if w[0].isupper() and len(w) >= SHORTEST]
    return any(
        w[0].casefold() == heard[0].casefold() and fuzz.ratio(w.casefold(), heard.casefold()) >= NEAR_WORD
        for w in names
    )


def sounds_like_name(heard: str, name: str) -> bool:
    """Whether some words of ``heard`` run together like ``name``: "Quill San Waiters" for "Quillsand Waders"."""
    wanted = _letters(name)
    if len(wanted) < 2 * SHORTEST:
        return False
    words = heard.split()
    most = len(name.split()) + 2
    return any(
        fuzz.ratio(_letters(" ".join(words[at : at + count])), wanted) >= NEAR_NAME
        for at in range(len(words))
        for count in range(1, most)
    )


def _letters(text: str) -> str:
    return re.sub(r"[\W\d_]", "", text).casefold()
