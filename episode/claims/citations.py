"""A person's reference understood: ISBN, DOI, web address or free text."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal
from urllib.parse import urlsplit, urlunsplit

_ISBN = re.compile(
    r"(?<![\w-])(?:(?i:ISBN)(?:-1[03])?:?\s*)?(?P<number>97[89][\s-]?(?:\d[\s-]?){9}\d|(?:\d[\s-]?){9}[\dXx])(?![\w-])"
)
_DOI = re.compile(r"(?:https?://(?:dx\.)?doi\.org/|doi:\s*)?(?P<doi>10\.\d{4,9}/[^\s\"<>]+)", re.IGNORECASE)
_URL = re.compile(r"(?:https?://|www\.)[^\s<>\"]+", re.IGNORECASE)
_STOPS = ".,;)]}’'"
LONGEST = 2000


@dataclass(frozen=True)
class Citation:
    """A reference as it is shown: ``key`` is the same for the same work however it was typed.

    ``problem`` says what is wrong with its number, and is empty where nothing is.
    """

    kind: Literal["isbn", "doi", "url", "text"]
    key: str
    shown: str
    problem: str = ""


def understand(text: str) -> Citation:
    """The first DOI, web address or ISBN in ``text``, written in one way within the person's own words.

    ISBN-10 become ISBN-13; check digits are checked as the International ISBN Agency's users' manual has it. DOIs
    are compared in lower case (DOI Handbook 2.4) and become addresses; of addresses, scheme and host lose their
    capitals (RFC 3986, 6.2.2.1).
    """
    plain = " ".join(text.split())
    short = plain[:LONGEST]
    doi = _DOI.search(short)
    if doi:
        name = doi.group("doi").rstrip(_STOPS).lower()
        address = f"https://doi.org/{name}"
        return Citation("doi", f"doi:{name}", _put(plain, doi.start(), doi.start("doi") + len(name), address))
    url = _URL.search(short)
    if url:
        return _address(plain, url)
    for isbn in _ISBN.finditer(short):
        found = _isbn(plain, isbn)
        if found:
            return found
    return Citation("text", f"text:{plain.casefold()}", plain)


def _address(plain: str, match: re.Match[str]) -> Citation:
    typed = match.group().rstrip(_STOPS)
    try:
        parts = urlsplit(typed if "://" in typed else f"https://{typed}")
        shown = urlunsplit((parts.scheme.lower(), parts.netloc.lower(), parts.path, parts.query, parts.fragment))
    except ValueError:
        return Citation("text", f"text:{plain.casefold()}", plain, f"{typed} is no web address")
    host = parts.netloc.lower().removeprefix("www.")
    key = f"url:{host}{parts.path.rstrip('/')}{'?' + parts.query if parts.query else ''}"
    return Citation("url", key, _put(plain, match.start(), match.start() + len(typed), shown))


def _isbn(plain: str, match: re.Match[str]) -> Citation | None:
    number = re.sub(r"[\s-]", "", match.group("number")).upper()
    named = match.group().upper().startswith("ISBN")
    if len(number) == 13:
        if _check13(number[:12]) == number[12]:
            return Citation("isbn", f"isbn:{number}", _put(plain, *match.span(), f"ISBN {number}"))
    elif _check10(number[:9]) == number[9]:
        longer = "978" + number[:9]
        longer += _check13(longer)
        return Citation("isbn", f"isbn:{longer}", _put(plain, *match.span(), f"ISBN {longer}"))
    if not named and len(number) == 10:
        return None
    problem = f"ISBN {number} fails its check digit: a figure is wrong"
    return Citation("isbn", f"text:{plain.casefold()}", plain, problem)


def _check13(first: str) -> str:
    return str(-sum(int(figure) * (3 if at % 2 else 1) for at, figure in enumerate(first)) % 10)


def _check10(first: str) -> str:
    value = -sum(int(figure) * (10 - at) for at, figure in enumerate(first)) % 11
    return "X" if value == 10 else str(value)


def _put(plain: str, start: int, end: int, shown: str) -> str:
    return plain[:start] + shown + plain[end:]
