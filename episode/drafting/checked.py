"""What may be said about a moment as fact: only what the record, or a person's reference, bears out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from episode.drafting.outgoing import one_line
from episode.drafting.years import say_years
from episode.models import Claim, Kind, Moment, Stance, Verdict

_OTHERS = frozenset({Stance.ABSENT, Stance.COMPARED, Stance.HOPED})


def supported_date(moment: Moment, claims: Iterable[Claim]) -> str:
    """The narrowest supported date said of this moment's thing, in words; empty if there is none."""
    made = [c for c in claims_about([moment], claims) if dates_the_find(c)]
    dated = [c for c in made if c.verdict is Verdict.SUPPORTED]
    dated = [c for c in dated if c.from_ is not None or c.to is not None]
    return said_years(min(dated, key=_width)) if dated else ""


def dates_the_find(claim: Claim) -> bool:
    """Whether a claim dates the thing itself, and not its type's introduction, a patent or a life."""
    return claim.kind in {"date", "period"} and claim.aspect == "made"


def supported_maker(moment: Moment, claims: Iterable[Claim]) -> str:
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


def claims_about(moments: Sequence[Moment], claims: Iterable[Claim]) -> list[Claim]:
    """Claims made about these moments' own thing: a date of what it was likened to is none of its own."""
    ids = {m.id for m in moments}
    numbers = {m.find for m in moments if m.find}
    own = {m.term for m in moments} | {n.term for m in moments for n in m.mentions if n.stance not in _OTHERS}
    said = [c for c in claims if not c.struck]
    made = [c for c in said if (c.moment in ids if c.moment else c.find is not None and c.find in numbers)]
    return [c for c in made if c.about is None or c.kind == "maker" or c.about in own]


def _width(claim: Claim) -> float:
    if claim.from_ is None or claim.to is None:
        return float("inf")
    return claim.to - claim.from_
