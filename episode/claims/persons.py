"""Persons said to have had to do with a thing or its place."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from episode.claims.cues import pattern, says
from episode.claims.scenes import Scene
from episode.claims.statements import Statement
from episode.claims.subjects import subject_of
from episode.lexicon.book import Lexicon
from episode.record.load import Record, name_key

_NAME = r"[A-Z][a-z'’-]+(?: (?:de|of|van|von|le|la))?(?: [A-Z][a-z'’-]+){1,2}"
_FIRM = re.compile(
    r"\b(?:works|brothers|sons?|co|company|ltd|street|lane|road|yard|hall|house|river|hill|park|bridge|church|quay|"
    r"wharf|castle|museum|council|bay|sands|point|island|war|age|day|bottle|ware|mark)\b",
    re.IGNORECASE,
)
"""Words in names of firms and places."""
_DID = re.compile(
    r"\s+(?:also |once |first |only |later |never )?(?:owned|lived|built|worked|wrote|drowned|ran|kept|drank|sailed|founded|"
    r"bought|sold|came|was|had|made|used|stayed|slept|fought|rented|left|lost|dug|designed|invented|painted|carved)\b"
)
_BY_NAME = r"(?:called|named|by the name of|whose name was)"
_NO_NAME = frozenset(
    "a an the it this that in on at to of and or but who which was were is are for from with so my his her one two".split()
)


def persons(scene: Scene, lexicon: Lexicon, record: Record) -> Iterator[Statement]:
    """Somebody whom the record knows, tied to a thing by an act; else one introduced by name, title or deed.

    Without capitals a name is taken only where something says that it is one ("a potter called", "Captain").
    Friends of the speaker, and those thanked, are no claim.
    """
    text = scene.text
    known = list(_known(scene, record))
    if known:
        for at, until, person in known:
            subject = subject_of(scene, at, lexicon)
            yield Statement(
                scene, "person", at, until, subject.about, subject.names, value=person, people=(person,),
                wider=subject.wider, cautious=not says("invented by", text),
            )  # fmt: skip
        return
    if any(says(cue, text) for cue in ("hoped", "conditional", "of the day")):
        return
    found = _introduced(scene)
    if found is not None:
        subject = subject_of(scene, found[0], lexicon)
        yield Statement(
            scene, "person", *found, subject.about, subject.names, value=text[slice(*found)], wider=subject.wider
        )


def _known(scene: Scene, record: Record) -> Iterator[tuple[int, int, str]]:
    """Persons of the record by their whole names, whatever the capitals: two words or more are no everyday ones."""
    text = scene.text
    tied = says("invented by", text)
    lowered = re.sub(r"[^a-z0-9 ]", " ", f" {name_key(text)} ")
    for key, person in _persons(record):
        if f" {key} " not in lowered:
            continue
        match = re.search(r"\s+".join(map(re.escape, person.split())), text, re.IGNORECASE)
        if not tied and not (match and deed_after(text, match.end())):
            continue
        yield (*(match.span() if match else (0, len(text))), person)


@lru_cache(maxsize=4)
def _persons(record: Record) -> tuple[tuple[str, str], ...]:
    names = {name_key(f.person): f.person for f in record.facts if f.person}
    return tuple((key, person) for key, person in names.items() if len(key.split()) > 1)


def recorded_firms(text: str, record: Record) -> Iterator[tuple[int, int, str]]:
    """Firms of the record said by their whole names of two words or more, whatever the capitals and the "and"."""
    for name, firm in _firms(record):
        match = firm.search(text)
        if match:
            yield (*match.span(), name)


@lru_cache(maxsize=4)
def _firms(record: Record) -> tuple[tuple[str, re.Pattern[str]], ...]:
    names = {f.about for f in record.facts if f.topic == "active" and len(f.about.split()) > 1}
    found = []
    for name in sorted(names, key=lambda n: (-len(n), n)):
        words = [r"(?:&|and)" if w in {"&", "and"} else re.escape(w) for w in name.split()]
        found.append((name, re.compile(r"(?<!\w)" + r"\s+".join(words) + r"(?!\w)", re.IGNORECASE)))
    return tuple(found)


def deed_after(text: str, at: int) -> bool:
    """Whether an act or "was a" follows: what is told is then of the person."""
    return bool(_DID.match(text, at))


def _introduced(scene: Scene) -> tuple[int, int] | None:
    """The first name in the sentence that is said to be somebody's."""
    text = scene.text
    small = text == text.lower()
    name = r"[a-z'’-]{2,} [a-z'’-]{2,}" if small else _NAME
    one = r"[a-z'’-]{3,}(?: [a-z'’-]{3,})?" if small else r"[A-Z][a-z'’-]+(?: [A-Z][a-z'’-]+){0,2}"
    for who in pattern("person").finditer(text):
        for lead, form in ((rf"\s+{_BY_NAME}\s+", one), (r"\b[^,.;!?]{0,40}?\s(?:was|is) ", name)):
            if small and form is name:
                continue
            match = re.compile(rf"{lead}({form})").match(text, who.end())
            if match and _is_name(scene, *match.span(1)):
                return match.span(1)
    for title in pattern("title").finditer(text):
        match = re.compile(rf"\.? ({one if not small else name})").match(text, title.end())
        if match and _is_name(scene, *match.span(1)):
            return title.start(), match.end(1)
    if not small:
        for match in re.finditer(
            rf"(?:^|[,;]\s*|\b(?:and|because|where|that|when|belonged to|owned by)\s+)({_NAME})", text
        ):
            tied = re.search(r"(?:belonged to|owned by)\s+$", text[: match.start(1)])
            if (tied or _DID.match(text, match.end(1))) and _is_name(scene, *match.span(1)):
                return match.span(1)
    return None


def _is_name(scene: Scene, at: int, until: int) -> bool:
    """Not the name of a term, a firm or a place, and no run of small words."""
    words = scene.text[at:until]
    if _FIRM.search(words) or set(words.lower().split()) & _NO_NAME:
        return False
    return not any(p.at < until and at < p.until for p in scene.mentions)
