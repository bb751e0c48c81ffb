"""Where things are said to come from."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from functools import lru_cache

from episode.claims.cues import says
from episode.claims.phrases import denied, led
from episode.claims.scenes import Scene
from episode.claims.statements import Statement
from episode.claims.subjects import subject_of
from episode.lexicon.book import Lexicon
from episode.lexicon.resources import vocab_root
from episode.models import How, Kind

_PLACES = "countries.csv"
_BETWEEN_PLACES = r"[\s,]*(?:(?:in|from|near|and|or|that['’]s|which is)\s*){0,3}"
_COMES = "it['’]s|is|are|was|were|they['’]re|that['’]s|over|come|comes|came|in|probably|all|imported|brought|shipped"
_THINGS = r"\w*ware|pottery|stoneware|glass|porcelain|jars?|jugs?|bottles?|pots?|pipes?|this|these|those|one"
_THINGS_COME = re.compile(rf"(?:\b(?:{_COMES}|originally|{_THINGS})|,)\s*$", re.IGNORECASE)


_NESTED = re.compile(r"\b(?:at|in|from|near)\s+(?:[\w'’-]+\s+){1,2}in\s+$", re.IGNORECASE)
"""A smaller place before the one that is known: "made at Frechen in Germany"."""


def origins(scene: Scene, lexicon: Lexicon) -> Iterator[Statement]:
    """A run of places after "made in" or "from" is one claim."""
    text = scene.text
    if says("hoped", text):
        return
    done = -1
    places = [(m.start(), m.end(), m.group()) for m in _place_names(lexicon).finditer(text)]
    for number, (at, end, place) in enumerate(places):
        start = led(text, at, "made in", words=1)
        if start is None and _NESTED.search(text[:at]):
            start = led(text, at, "made in", words=3)
        if at < done or start is None or denied(text, start) or _visitors(text, start):
            continue
        until, names = end, [place]
        for following in places[number + 1 :]:
            if not re.fullmatch(_BETWEEN_PLACES, text[until : following[0]]):
                break
            until = following[1]
            names.append(following[2])
        more = re.match(r"\s*,\s*(?:in|from)\s+[A-Z]\w+", text[until:])
        until += more.end() if more else 0
        done = until
        subject = subject_of(scene, at, lexicon, apart=(start, until))
        if subject.about is None:
            continue
        yield Statement(
            scene, "origin", start, until, subject.about, subject.names, value=";".join(names),
            wider=subject.wider, people=subject.people,
        )  # fmt: skip


def _visitors(text: str, start: int) -> bool:
    """A bare "from" after anything else than a thing or its coming: "my friend from Germany"."""
    if not re.match(r"from\b", text[start:], re.IGNORECASE):
        return False
    return start > 0 and not _THINGS_COME.search(text[:start])


@lru_cache(maxsize=4)
def _place_names(lexicon: Lexicon) -> re.Pattern[str]:
    """Every place of the lexicon and every country of the list; many are everyday words that only stand for the place after "made in" or "from"."""
    names = [name for name, term, how in lexicon.names() if term.kind is Kind.PLACE and how is not How.MISHEARING]
    names += countries()
    choice = "|".join(re.escape(n) for n in sorted(set(names), key=len, reverse=True)) or r"(?!)"
    return re.compile(rf"(?<!\w)(?:{choice})(?!\w)", re.IGNORECASE)


@lru_cache(maxsize=1)
def countries() -> dict[str, str]:
    """The country by the names that it goes by in talk, without the article (``vocab/record/countries.csv``)."""
    path = vocab_root().joinpath("record").joinpath(_PLACES)
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return {row["name"].removeprefix("the "): row["country"] for row in rows}
