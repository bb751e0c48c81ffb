"""What a log row and a moment each say about the thing, in comparable form."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from episode.matching.grouping import FIND_STANCES, THINGS
from episode.matching.kinship import Kinship, singulars
from episode.models import Kind, LogEntry, Mention, Moment, Stance

_TOKEN = re.compile(r"[^\W_]+(?:'[^\W_]+)?")
_HANDFUL = re.compile(r"^\W*(\d{1,2})\s*(?:x|×|no\b|of\b)?\s*[^\W\d]", re.IGNORECASE)
_COUNTED = re.compile(r"[x×]\s?(\d{1,2})\b", re.IGNORECASE)
_NUMBER_SAID = re.compile(r"\b(?:find|number|no)\.?\s+(?:number\s+)?#?([A-Za-z]{0,3}\d{1,4}[a-z]?)\b", re.IGNORECASE)
_SMALL_WORDS = frozenset(
    """
    a an and are at be bit but by for from had has have he her here his i if in is it its just like more no not of
    off on one or so some that the them then there these they thing this to up was we well were what when which
    with would you your yes it's that's there's i'm i've we've don't got get very really little um uh er oh piece
    part small large big found find photo see
    """.split()
)
_MANY = 6
"""Most moments that one row for a handful may take."""


@dataclass(frozen=True)
class Sense:
    """Labels with weights, sets of words. ``things`` maps a term to how firmly it is named (0 to 1)."""

    things: dict[str, float]
    names: tuple[str, ...]
    materials: frozenset[str]
    implied: frozenset[str]
    makers: frozenset[str]
    periods: frozenset[str]
    years: tuple[int | None, int | None]
    words: frozenset[str]
    open: bool = False
    """A guess, or a row that names nothing known: other names do not speak against it."""
    handful: int = 1
    numbers: frozenset[str] = frozenset()


def sense_of_row(row: LogEntry, kin: Kinship) -> Sense:
    """What a log row says."""
    named = kin.read(row.object)
    things = {term: 0.5 for term in kin.read(row.notes) if _is_thing(term, kin)}
    things |= {term: 1.0 for term in named if _is_thing(term, kin)}
    implied = {row_term.material for term in things if (row_term := kin.term(term)) and row_term.material}
    said = [term for term in named if _kind(term, kin) is Kind.MATERIAL]
    materials = {*kin.read(row.material), *said} or ({row.material.strip().lower()} if row.material.strip() else set())
    makers = {t for t in (*kin.read(row.maker), *named) if _kind(t, kin) is Kind.MAKER}
    periods = {t for t in (*kin.read(row.period), *named) if _kind(t, kin) is Kind.PERIOD}
    words = tokens(f"{row.object} {row.notes} {row.maker}") - tokens(" ".join(named))
    return Sense(
        things=things,
        names=(row.object.strip(),) if row.object.strip() else (),
        materials=frozenset(materials),
        implied=frozenset(implied),
        makers=frozenset(makers) or frozenset(tokens(row.maker)),
        periods=frozenset(periods),
        years=(row.from_, row.to),
        words=frozenset(words),
        open=not any(weight == 1.0 for weight in things.values()),
        handful=_handful(row.object, row.notes),
        numbers=frozenset({row.find.strip().lower()}) if row.find.strip() else frozenset(),
    )


def sense_of_moment(moment: Moment, text: str, kin: Kinship) -> Sense:
    """What a moment says; ``text`` is all that is spoken in it."""
    things: dict[str, float] = {}
    for mention in moment.mentions:
        if mention.kind in THINGS and mention.stance in FIND_STANCES:
            weight = 1.0 if mention.term == moment.term else 0.75 if mention.stance is Stance.UNSURE else 0.9
            things[mention.term] = max(things.get(mention.term, 0.0), weight)
    by_hand = moment.title or moment.term or "" if {"add", "rename"} & set(moment.decided) else ""
    if by_hand:
        things = dict.fromkeys(things, 0.5)
        named = (moment.term or "", *kin.read(by_hand))
        things |= {term: 1.0 for term in named if _is_thing(term, kin)}
    main = kin.term(moment.term) if moment.term else None
    heard = [m.heard for m in moment.mentions if m.term in things]
    present = [m for m in moment.mentions if m.stance not in {Stance.ABSENT, Stance.COMPARED, Stance.HOPED}]
    return Sense(
        things=things,
        names=tuple(dict.fromkeys(filter(None, (by_hand, *things, *heard)))),
        materials=frozenset(_terms(present, Kind.MATERIAL)),
        implied=frozenset({main.material} if main and main.material else set()),
        makers=frozenset(_terms(present, Kind.MAKER)),
        periods=frozenset(_terms(present, Kind.PERIOD)),
        years=(main.from_, main.to) if main else (None, None),
        words=frozenset(tokens(text)),
        open=moment.stance is Stance.UNSURE,
        numbers=frozenset(match[1].lower() for match in _NUMBER_SAID.finditer(text)),
    )


def tokens(text: str) -> set[str]:
    """Words worth comparing, singular, lower case."""
    found = set()
    for spelled in _TOKEN.findall(text.lower().replace("’", "'")):
        word = spelled.removesuffix("'s")
        if word in _SMALL_WORDS or (len(word) < 2 and not word.isdigit()):
            continue
        found.add(min(singulars(word), key=len, default=word) if len(word) > 3 else word)
    return found


def _is_thing(term: str, kin: Kinship) -> bool:
    return _kind(term, kin) in THINGS


def _kind(term: str, kin: Kinship) -> Kind | None:
    row = kin.term(term)
    return row.kind if row else None


def _terms(mentions: Iterable[Mention], kind: Kind) -> set[str]:
    return {m.term for m in mentions if m.kind is kind}


def _handful(text: str, notes: str) -> int:
    """How many things a row stands for: the count that it gives, several for a bare plural, else one."""
    match = _HANDFUL.match(text) or _COUNTED.search(text)
    if match:
        return max(1, min(_MANY, int(match[1])))
    words = _TOKEN.findall(text.lower())
    if words and words[0] in {"two", "pair"}:
        return 2
    if words and (words[0] in {"several", "handful", "lots", "three", "four", "five", "six"} or "various" in words):
        return _MANY
    plural = bool(words) and bool(singulars(words[-1])) and words[-1] not in {"glass", "brass"}
    return 3 if plural or re.search(r"\b(?:handful|several)\b", notes, re.IGNORECASE) else 1
