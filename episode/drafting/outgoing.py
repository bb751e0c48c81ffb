"""The last gate for every string that leaves the day folder's own data: one line, harmless, no find spot."""

from __future__ import annotations

import re
import unicodedata

from episode.day.privacy import blur_text
from episode.models import Settings

NUMBER_WITHHELD = "[number withheld]"

_SPACES = re.compile(r"\s+")
# Marks that make text run backwards or hide in it: they can make a line read as what it is not.
_UNSEEN = frozenset("\u00ad\u200b\u200e\u200f\u2060\ufeff") | {
    chr(c) for c in (*range(0x202A, 0x202F), *range(0x2066, 0x206A))
}


def outgoing(text: str, settings: Settings) -> str:
    """``text`` on one line, without control or direction marks, with find spots blurred as the settings ask.

    A permit's number is withheld too, unless the settings show it.
    """
    told = one_line(text)
    number = settings.disclosures.permit_number.strip()
    if number and not settings.disclosures.show_permit_number:
        told = told.replace(number, NUMBER_WITHHELD)
    return blur_text(told, settings)


def one_line(text: str) -> str:
    """``text`` with white space run together and characters that cannot be seen taken out."""
    if not text.isprintable():  # else the space is the only white space in it, and nothing in it is unseen
        text = "".join(
            " " if character in "\r\n\t\v\f\x85\u2028\u2029" else character
            for character in text
            if character not in _UNSEEN and (character.isspace() or unicodedata.category(character) not in {"Cc", "Cs"})
        )
    return _SPACES.sub(" ", text).strip()
