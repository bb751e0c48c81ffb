"""Makers, origins, places, materials and persons said of things."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache

from rapidfuzz import fuzz

from episode.claims.cues import pattern, says
from episode.claims.origins import origins
from episode.claims.persons import deed_after, persons, recorded_firms
from episode.claims.phrases import denied, led
from episode.claims.scenes import Placed, Scene
from episode.claims.sites import sites
from episode.claims.statements import Statement
from episode.claims.subjects import subject_of
from episode.lexicon.book import Lexicon
from episode.models import How, Kind, LogEntry, Stance
from episode.record.load import Record, name_key

_NOT_SAID = (Stance.ABSENT, Stance.HOPED, Stance.COMPARED)
_CAPITALS = re.compile(
    r"[A-Z][\w'’.]*(?:(?:\s+(?:&|and|of|de|van|von)\s+|\s+)(?:[A-Z&][\w'’.]*))*(?:\s*,\s*[A-Z][a-z]+)?"
)
_COMMON_CAPITALS = frozenset(
    [
        "I",
        "It",
        "It's",
        "The",
        "A",
        "An",
        "And",
        "So",
        "But",
        "Oh",
        "That",
        "That's",
        "This",
        "He",
        "She",
        "They",
        "We",
        "You",
        "There",
        "Here",
        "Now",
        "Then",
        "No",
        "Yes",
        "Rd",
        "Made",
        "Patent",
        "England",
    ]
)
_QUESTION = re.compile(r"\?\s*$")


def named_statements(
    scene: Scene, lexicon: Lexicon, record: Record, entry: LogEntry | None, dated: Sequence[Statement]
) -> Iterator[Statement]:
    """Every maker, origin, place, material and person claimed in the scene's sentence.

    A person or maker whose sentence already makes a dated claim is part of that claim and not counted again.
    """
    text = scene.text
    if _QUESTION.search(text):
        return
    yield from _materials(scene, lexicon)
    yield from origins(scene, lexicon)
    makers = list(_makers(scene, lexicon, record, entry, dated))
    yield from makers
    if not dated and not makers:
        yield from persons(scene, lexicon, record)
        yield from sites(scene, lexicon)


def _materials(scene: Scene, lexicon: Lexicon) -> Iterator[Statement]:
    """Materials that are mentions, and plain ones said outright ("it's lead"), which are everyday words else."""
    text = scene.text
    if says("hoped", text):
        return
    found: list[tuple[int, int, str]] = []
    for match in _outright(lexicon).finditer(text):
        term = lexicon.named(match.group("name"))
        if term is not None:
            found.append((match.start(), match.end("name"), term.term))
    for placed in scene.mentions:
        if placed.mention.kind is not Kind.MATERIAL or placed.mention.stance in _NOT_SAID:
            continue
        start = led(text, placed.at, "is of", words=1)
        if (start is None or _likened(text, placed.at)) and not _beside_thing(scene, placed):
            continue
        found.append((placed.at if start is None else start, placed.until, placed.mention.term))
    taken: list[tuple[int, int]] = []
    for at, until, name in sorted(found, key=lambda f: (f[1], f[0])):
        if denied(text, until - len(name)) or any(a < until and at < b for a, b in taken):
            continue
        subject = subject_of(scene, at, lexicon)
        if subject.about is None:
            continue
        taken.append((at, until))
        yield Statement(scene, "material", at, until, subject.about, subject.names, value=name, wider=subject.wider)


@lru_cache(maxsize=4)
def _outright(lexicon: Lexicon) -> re.Pattern[str]:
    """Such as "It's lead", "made of bone": a material's name that ends its clause."""
    names = [name for name, term, how in lexicon.names() if term.kind is Kind.MATERIAL and how is not How.MISHEARING]
    choice = "|".join(re.escape(n) for n in sorted(names, key=len, reverse=True)) or r"(?!)"
    ends = r"(?=\s*(?:[,.;!?]|$)|\s+(?:and|but|so|too|i think|probably|isn't it|not|as well|because|all|though|or)\b)"
    says_so = r"(?:it['’]?s|it is|that['’]?s|that is|this is|they['’]?re|these are|made (?:out )?of|made from)"
    how = r"(?:all |solid |pure |actually |definitely |probably |just |obviously |clearly |really )?"
    return re.compile(rf"(?<!\w){says_so} {how}(?P<name>{choice}){ends}", re.IGNORECASE)


def _likened(text: str, at: int) -> bool:
    """Such as "thin as paper", "like glass"."""
    return bool(re.search(r"\b(?:as|like|than)\s+(?:an?\s+|the\s+)?$", text[:at], re.IGNORECASE))


def _beside_thing(scene: Scene, placed: Placed) -> bool:
    """As in "a copper alloy thimble", or "a thimble, copper alloy, and"."""
    for other in scene.mentions:
        if other.mention.kind not in {Kind.OBJECT, Kind.WARE} or other.mention.stance in _NOT_SAID:
            continue
        between = scene.text[placed.until : other.at] if other.at >= placed.until else None
        after = scene.text[other.until : placed.at] if placed.at >= other.until else None
        if between is not None and between.strip() == "":
            return True
        if after is not None and after.strip() in {"", ",", ", in", "in"}:
            return True
    return False


def _makers(
    scene: Scene, lexicon: Lexicon, record: Record, entry: LogEntry | None, dated: Sequence[Statement]
) -> Iterator[Statement]:
    text = scene.text
    taken: list[tuple[int, int]] = []
    for placed in scene.mentions:
        if placed.mention.kind is not Kind.MAKER or placed.mention.stance in _NOT_SAID or denied(text, placed.at):
            continue
        if any(d.people and placed.mention.term in d.people for d in dated):
            continue
        things = [p for p in scene.mentions if p.mention.kind in {Kind.OBJECT, Kind.WARE}]
        cue = led(text, placed.at, "made by", words=2)
        if cue is None and not things and (scene.moment is None or _told_of(text, placed.until, record, placed)):
            continue
        if cue is None and _everyday(text, placed, lexicon):
            continue
        taken.append((placed.at, placed.until))
        yield _maker(scene, lexicon, placed.at, _with_seat(text, placed.until), placed.mention.term)
    for at, until, firm in recorded_firms(text, record):
        if scene.moment is None or denied(text, at) or any(a < until and at < b for a, b in taken):
            continue
        if any(d.people and firm in d.people for d in dated) or any(
            p.at < until and at < p.until for p in scene.mentions
        ):
            continue
        taken.append((at, until))
        yield _maker(scene, lexicon, at, until, firm)
    logged = _logged_maker(text, entry)
    if logged and not any(a < logged[1] and logged[0] < b for a, b in taken):
        taken.append(logged)
        yield _maker(scene, lexicon, logged[0], _with_seat(text, logged[1]), entry.maker if entry else "")
    if text != text.lower():
        for at, until in _firms_before_things(scene):
            if scene.moment is None or denied(text, at) or _reign(text[at:until]):
                continue
            if not any(a < until and at < b for a, b in taken) and not any(
                p.at <= at < p.until for p in scene.mentions
            ):
                taken.append((at, until))
                yield _maker(scene, lexicon, at, until, text[at:until])
        for match in pattern("made by").finditer(text):
            name = _CAPITALS.match(text, match.end() + 1) if match.end() < len(text) else None
            if name is None or not _is_firm(name.group(), match.group().lower()) or scene.moment is None:
                continue
            if any(p.at < name.end() and name.start() < p.until for p in scene.mentions):
                continue
            if any(a < name.end() and name.start() < b for a, b in taken) or _reign(name.group()):
                continue
            taken.append((name.start(), name.end()))
            yield _maker(scene, lexicon, name.start(), name.end(), name.group())


def _told_of(text: str, until: int, record: Record, placed: Placed) -> bool:
    """Something told of a person by name, as in "Hiram Codd was an engineer": no word of who made the thing."""
    person = {name_key(f.person) for f in record.facts if f.person}
    made = re.match(r"\s+(?:\w+ )?(?:made|built|designed|invented|carved|painted)\b", text[until:], re.IGNORECASE)
    return name_key(text[placed.at : until]) in person and deed_after(text, until) and not made


def _everyday(text: str, placed: Placed, lexicon: Lexicon) -> bool:
    """A maker whose name is a common word, said without a capital: "the end of a boot lace"."""
    term = lexicon.get(placed.mention.term)
    heard = text[placed.at : placed.until]
    if term is None or heard != heard.lower():
        return False
    return term.everyday or name_key(heard) in {name_key(n) for n in term.everyday_names}


_FIRM = re.compile(
    r"\b(?P<name>[A-Z][\w'’]+(?: (?:and|&) (?:Sons?|Co\b\.?|[A-Z][\w'’]+)| (?:Brothers|Bros\b\.?|Sons)))\s+(?=[a-z])"
)
"""A firm before its product: "an Orme and Tuttle button"."""


def _firms_before_things(scene: Scene) -> Iterator[tuple[int, int]]:
    things = {p.at for p in scene.mentions if p.mention.kind in {Kind.OBJECT, Kind.WARE}}
    for match in _FIRM.finditer(scene.text):
        if match.end() in things and match.group("name").split()[0] not in _COMMON_CAPITALS:
            yield match.start(), match.end("name")


def _maker(scene: Scene, lexicon: Lexicon, at: int, until: int, name: str) -> Statement:
    subject = subject_of(scene, at, lexicon)
    about = subject.about if subject.about not in subject.people else None
    return Statement(
        scene, "maker", at, until, about or (scene.moment.term if scene.moment else None) or subject.about,
        subject.names, value=name, people=(name, *subject.people), wider=subject.wider,
    )  # fmt: skip


def _with_seat(text: str, until: int) -> int:
    """A maker's seat said with the name belongs to it: "Orme and Tuttle, Thesselmouth"."""
    seat = re.match(r"\s*,\s*(?!I\b)[A-Z][a-z]+(?=\s*[,.;]|$)", text[until:])
    return until + seat.end() if seat else until


def _logged_maker(text: str, entry: LogEntry | None) -> tuple[int, int] | None:
    """The log's maker, said in the sentence ("Orme and Tuttle" for "Orme & Tuttle")."""
    if entry is None or len(entry.maker.strip()) < 4:
        return None
    wanted = name_key(entry.maker.replace("&", " and "))
    heard = name_key(text.replace("&", "and"))
    found = fuzz.partial_ratio_alignment(wanted, heard, score_cutoff=88)
    if found is None or found.dest_end - found.dest_start < len(wanted) * 0.8:
        return None
    first = next((w for w in wanted.split() if len(w) > 2), wanted)
    match = re.search(rf"\b{re.escape(first)}\b", text, re.IGNORECASE)
    if match is None:
        return None
    last = wanted.split()[-1]
    end = re.search(rf"\b{re.escape(last)}\b", text[match.start() :], re.IGNORECASE)
    return match.start(), match.start() + (end.end() if end else len(first))


def _is_firm(name: str, cue: str) -> bool:
    words = [w for w in re.split(r"[\s,]+", name) if w]
    named = [w for w in words if w not in _COMMON_CAPITALS and w.lower() not in {"and", "of", "&"}]
    if not named or words[0] in _COMMON_CAPITALS:
        return False
    return len(named) > 1 or cue in {"made by", "marked", "stamped", "bottled by", "brewed by", "manufactured by"}


def _reign(name: str) -> bool:
    from episode.record.dates import read_dates

    return bool(read_dates(name))
