"""What a moment is called: its main term, its stance, its title."""

from __future__ import annotations

from collections.abc import Sequence

from episode.matching.grouping import FIND_STANCES, THINGS, Group
from episode.matching.kinship import Kinship
from episode.models import Kind, Mention, Stance

_ADJOINING_S = 0.8
_ONE_BREATH_S = 0.2
_DEEP = 2
"""Steps below the top from which on a term is specific enough: a Bellarmine jar is no less so than its fabric."""
_QUALIFIERS = frozenset({Kind.WARE, Kind.MATERIAL, Kind.MAKER, Kind.PERIOD})


def main_term(found: Group, kin: Kinship) -> tuple[str | None, Stance]:
    """The most specific object or ware that is named as being there, and what the speaker does with it.

    A firm naming goes before a guess; a term goes before everything it is a kind of; a shape before a ware
    where both are specific. Weakly heard terms count only where nothing is heard well.
    """
    if not found.find:
        terms = list(dict.fromkeys(m.term for m in found.mentions))
        return (terms[0] if len(terms) == 1 else None), found.core[0].stance
    named = [m for m in found.core if m.kind in THINGS and m.stance in FIND_STANCES]
    firm = [m for m in named if m.stance is not Stance.UNSURE] or named
    support: dict[str, float] = {}
    for mention in firm:
        support[mention.term] = support.get(mention.term, 0.0) + mention.score
    strongest = max(support.values())
    heard = [term for term, weight in support.items() if weight >= 0.4 * strongest]
    heard = [term for term in heard if not _only_qualifies(term, firm)] or heard
    leaves = [t for t in heard if not any(o != t and kin.is_a(o, t) and not kin.is_a(t, o) for o in heard)] or heard
    kinds = {m.term: m.kind for m in firm}
    first = {m.term: m.start for m in reversed(firm)}
    best = max(
        leaves,
        key=lambda t: (
            min(_DEEP, kin.depth(t)),
            kinds[t] is Kind.OBJECT,
            not _mere_sort(t, leaves, kin),
            round(support[t], 6),
            -first[t],
            t,
        ),
    )
    return best, _stance(firm, best)


def _only_qualifies(term: str, firm: Sequence[Mention]) -> bool:
    """Whether a term only ever stands right before another, as "hammered" does in "hammered sixpence"."""
    return all(
        any(o.term != term and -1e-6 <= o.start - m.end <= _ONE_BREATH_S for o in firm) for m in firm if m.term == term
    )


def _mere_sort(term: str, leaves: Sequence[str], kin: Kinship) -> bool:
    """Whether a term only qualifies the one above it ("hammered coin") where another under it has a name of its own."""
    above = kin.chain(term)[1:2]
    if not above or not term.endswith(f" {above[0]}"):
        return False
    return any(kin.chain(o)[1:2] == above and not o.endswith(f" {above[0]}") for o in leaves)


def naming_second(mentions: Sequence[Mention], term: str | None) -> float:
    """When the main term is first named, in seconds; the first mention where it never is."""
    namings = [m.start for m in mentions if m.term == term and m.stance in FIND_STANCES]
    return min(namings or [m.start for m in mentions], default=0.0)


def title(found: Group, term: str | None) -> str:
    """A few plain words: the term with the ware, material, maker or period that was said right before it."""
    if term is None:
        names = list(dict.fromkeys(m.term for m in found.mentions))
        shown = names[:3]
        more = ", ".join(shown[:-1]) + " and " + shown[-1] if len(names) <= 3 else ", ".join(shown) + " and more"
        return more if len(names) > 1 else ""
    mentions = found.mentions
    for head in (m for m in mentions if m.term == term):
        said: list[str] = []
        edge = head.start
        for other in reversed([m for m in mentions if m.end <= head.start + 1e-6]):
            if other.kind not in _QUALIFIERS or edge - other.end > _ADJOINING_S or len(said) == 2:
                break
            if other.term.lower() not in term.lower():
                # "Transfer-printed ware" before "pearlware" is said as "transfer-printed pearlware".
                said.insert(0, other.term.removesuffix(" ware") if other.kind is head.kind else other.term)
                edge = other.start
        if said:
            return " ".join([*said, term])
    return _sherd(found, term) or term


def _stance(firm: Sequence[Mention], term: str) -> Stance:
    stances = {m.stance for m in firm if m.term == term}
    for stance in (Stance.EARLIER, Stance.FOUND):
        if stance in stances:
            return stance
    return Stance.UNSURE


def _sherd(found: Group, term: str) -> str:
    """A ware that is its moment's main term, with the shape that was said right after it ("creamware plate")."""
    for head in (m for m in found.mentions if m.term == term and m.kind is Kind.WARE):
        for other in found.mentions:
            if other.kind is Kind.OBJECT and 0 <= other.start - head.end <= _ADJOINING_S and other.term != term:
                return f"{term} {other.term}"
    return ""
