"""What a statement is about: a thing named in the sentence, else the one in hand."""

from __future__ import annotations

from dataclasses import dataclass

from episode.claims.cues import says
from episode.claims.scenes import Placed, Scene
from episode.lexicon.book import Lexicon
from episode.models import Kind, Stance, Term

_THINGS = (Kind.OBJECT, Kind.WARE)
_NOT_MEANT = (Stance.COMPARED, Stance.ABSENT, Stance.HOPED)


@dataclass(frozen=True)
class Subject:
    """The term (or ``None``), other names for it, wider terms, and makers or persons named beside it."""

    about: str | None
    names: tuple[str, ...]
    wider: tuple[str, ...]
    people: tuple[str, ...]


def subject_of(scene: Scene, at: int, lexicon: Lexicon, *, apart: tuple[int, int] = (0, 0)) -> Subject:
    """The subject of a statement at character ``at`` of the scene's sentence.

    What is named between the characters ``apart`` belongs to the statement itself and is no subject.
    """
    people = tuple(dict.fromkeys(p.mention.term for p in scene.mentions if p.mention.kind is Kind.MAKER))
    mentions = tuple(p for p in scene.mentions if not apart[0] <= p.at < apart[1])
    thing = _named(mentions, at)
    in_hand = scene.moment.term if scene.moment and not _elsewhere(scene) else None
    if thing is None and in_hand is None:
        return Subject(people[0] if people else None, people, (), people)
    about = thing.mention.term if thing else in_hand
    term = lexicon.get(about or "")
    names = [about or ""]
    hand = lexicon.get(in_hand or "")
    if thing and term and hand and hand.term != term.term and lexicon.is_a(hand, term):
        names.append(hand.term)
    mark = lexicon.get("mark")
    if thing and term and hand and mark and thing.mention.kind is Kind.FEATURE and lexicon.is_a(term, mark):
        names.append(hand.term)
    for placed in mentions:
        if placed.mention.kind in _THINGS and placed.mention.stance not in _NOT_MEANT:
            other = lexicon.get(placed.mention.term)
            if (
                other
                and term
                and other.term != term.term
                and (lexicon.is_a(other, term) or _same_breath(placed, thing))
            ):
                names.append(other.term)
    wider = [t.term for t in lexicon.broader(term)] if term else []
    if scene.moment:
        beside = (m for m in scene.moment.mentions if m.kind in _THINGS and m.stance is Stance.FOUND)
        wider += [m.term for m in beside if m.term not in names]
    return Subject(about, tuple(dict.fromkeys(names)), tuple(dict.fromkeys(wider)), people)


def names_of(term: Term | None, about: str) -> tuple[str, ...]:
    """A term's label and its other names."""
    return (about,) if term is None else (term.term, *term.also)


def _named(mentions: tuple[Placed, ...], at: int) -> Placed | None:
    """The thing named last before ``at``, else the first after it; a feature only where no thing is named."""
    for kinds in (_THINGS, (Kind.FEATURE,)):
        meant = [p for p in mentions if p.mention.kind in kinds and p.mention.stance not in _NOT_MEANT]
        before = [p for p in meant if p.at <= at]
        if before:
            return before[-1]
        if meant:
            return meant[0]
    return None


def _same_breath(placed: Placed, thing: Placed | None) -> bool:
    """Two names side by side for one thing: "a hammered sixpence"."""
    return thing is not None and 0 <= max(placed.at - thing.until, thing.at - placed.until) <= 1


def _elsewhere(scene: Scene) -> bool:
    """The sentence speaks of the place, and names no thing."""
    if scene.inside and scene.mentions:
        return False
    return says("existential", scene.text)
