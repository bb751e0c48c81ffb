"""What may be said about a moment as fact: only what the record, or a person's reference, bears out."""

from __future__ import annotations

from collections.abc import Sequence

from episode.drafting.outgoing import one_line
from episode.drafting.years import say_years
from episode.models import Claim, Kind, Moment, Stance, Verdict
from episode.once import once_for_the_same

_OTHERS = frozenset({Stance.ABSENT, Stance.COMPARED, Stance.HOPED})


def supported_date(moment: Moment, claims: tuple[Claim, ...]) -> str:
    """The narrowest supported date said of this moment's thing, in words; empty if there is none."""
    made = [c for c in claims_about([moment], claims) if dates_the_find(c)]
    dated = [c for c in made if c.verdict is Verdict.SUPPORTED]
    dated = [c for c in dated if c.from_ is not None or c.to is not None]
    return said_years(min(dated, key=_width)) if dated else ""


def dates_the_find(claim: Claim) -> bool:
    """Whether a claim dates the thing itself, and not its type's introduction, a patent or a life."""
    return claim.kind in {"date", "period"} and claim.aspect == "made"


def supported_maker(moment: Moment, claims: tuple[Claim, ...]) -> str:
    """The maker named in this moment, if a supported claim names them; empty otherwise."""
    makers = [m.term for m in moment.mentions if m.kind is Kind.MAKER]
    for claim in claims_about([moment], claims):
        if claim.kind == "maker" and claim.verdict is Verdict.SUPPORTED:
            named = [m for m in makers if m == claim.about or m.casefold() in claim.quote.casefold()]
            if named:
                return one_line(named[0])
    return ""


def said_years(claim: Claim) -> str:
    """A claim's years in words, "about" before them where its EDTF carries ``~`` or ``%``."""
    return say_years(claim.from_, claim.to, about=bool(claim.edtf) and any(mark in (claim.edtf or "") for mark in "~%"))


def claims_about(moments: Sequence[Moment], claims: tuple[Claim, ...]) -> list[Claim]:
    """Claims made about these moments' own thing: a date of what it was likened to is none of its own."""
    ids = {m.id for m in moments}
    numbers = {m.find for m in moments if m.find}
    own = {m.term for m in moments} | {n.term for m in moments for n in m.mentions if n.stance not in _OTHERS}
    by_moment, by_find = _standing(claims)
    places = [place for key in ids for place in by_moment.get(key, ())]
    places += [place for key in numbers for place in by_find.get(key, ())]
    made = [claims[place] for place in sorted(places)]
    return [c for c in made if c.about is None or c.kind == "maker" or c.about in own]


_Places = dict[str, list[int]]


@once_for_the_same
def _standing(claims: tuple[Claim, ...]) -> tuple[_Places, _Places]:
    """Places of the claims that are not struck, by their moment, and by their find where they have no moment."""
    by_moment: _Places = {}
    by_find: _Places = {}
    for place, claim in enumerate(claims):
        if not claim.struck and claim.moment:
            by_moment.setdefault(claim.moment, []).append(place)
        elif not claim.struck and claim.find is not None:
            by_find.setdefault(claim.find, []).append(place)
    return by_moment, by_find


def _width(claim: Claim) -> float:
    if claim.from_ is None or claim.to is None:
        return float("inf")
    return claim.to - claim.from_
