"""The finds with their dates: as the record bears them out, or hedged, never a contradicted one."""

from __future__ import annotations

from collections.abc import Sequence

from episode.drafting.checked import claims_about, dates_the_find, said_years
from episode.drafting.finds import Find, finds
from episode.drafting.parts.writing import Writing, sentence
from episode.drafting.years import say_years
from episode.models import Claim, LogEntry, Verdict

_SHORT_QUOTE = 30
_NOT_YET = "not yet referenced"


def dated_finds(writing: Writing) -> list[str]:
    """A line for each find that has a name, in programme order."""
    if not writing.detail.finds:
        return []
    lines: list[str] = []
    for find in finds(writing.day):
        if find.unknown or not find.name:
            continue
        line = _line(find, writing)
        if line not in lines:
            lines.append(line)
    return lines


def _line(find: Find, writing: Writing) -> str:
    made = claims_about(find.moments, writing.day.claims)
    claims = [c for c in made if c.verdict is not Verdict.CONTRADICTED]
    disputed = any(dates_the_find(c) for c in made if c not in claims)
    dated = [c for c in claims if dates_the_find(c)]
    name = writing.text(find.name)
    name = f"{name[:1].upper()}{name[1:]}" + (" (found earlier)" if find.earlier else "")
    best = _best([c for c in dated if _borne_out(c)])
    loose = _best([c for c in dated if c.verdict is Verdict.IMPRECISE and not c.reference])
    spoken = _best([c for c in dated if c.verdict is Verdict.UNREFERENCED and not c.reference])
    hedge = writing.day.settings.unverified == "hedge"
    worded = _best([c for c in dated if c.wording and (hedge or _borne_out(c))])
    if worded and worded.wording:
        line = f"{name}; {writing.text(worded.wording).rstrip('.')}{writing.cite(worded)}"
    elif best and said_years(best):
        line = f"{name}, {said_years(best)}{writing.cite(best)}"
    elif loose:
        line = _imprecise(name, loose, writing)
    elif spoken and hedge:
        line = f"{name}; said on camera: {_spoken(spoken, writing)}; {_NOT_YET}"
    elif find.entry and hedge and not disputed and _logged(find.entry, writing):
        line = f"{name}; noted in the find log: {_logged(find.entry, writing)}; {_NOT_YET}"
    else:
        line = name
    line += _details([c for c in claims if _borne_out(c)], writing)
    told = [c for c in (best, loose, spoken) if c] + [c for c in claims if _borne_out(c)]
    return writing.rest(line, claims=told, moments=find.moments, finds=[find.entry.find if find.entry else None])


def _borne_out(claim: Claim) -> bool:
    """Supported by the record, or given a reference by the person (which never lifts a contradiction)."""
    return claim.verdict is Verdict.SUPPORTED or (
        claim.reference is not None and claim.verdict is not Verdict.CONTRADICTED
    )


def _best(claims: Sequence[Claim]) -> Claim | None:
    """The one that says most: the narrowest, the earlier on a tie."""

    def width(claim: Claim) -> float:
        return claim.to - claim.from_ if claim.from_ is not None and claim.to is not None else float("inf")

    return min(claims, key=width) if claims else None


def _imprecise(name: str, claim: Claim, writing: Writing) -> str:
    given = next((e for e in claim.evidence if e.from_ is not None or e.to is not None), None)
    known = say_years(given.from_, given.to) if given else ""
    if not known:
        return f"{name}; said on camera: {_spoken(claim, writing)}; {_NOT_YET}"
    cited = writing.cite_sources([given.source] if given else [])
    if writing.day.settings.unverified == "leave out" or not said_years(claim):
        return f"{name}, {known}{cited}"
    return f"{name}; said on camera: {_spoken(claim, writing)}; the record gives {known}{cited}"


def _logged(entry: LogEntry, writing: Writing) -> str:
    return say_years(entry.from_, entry.to) or writing.text(entry.period)


def _spoken(claim: Claim, writing: Writing) -> str:
    """The date as it was put: its years, or the words where it is a period or carries no years."""
    quote = writing.text(claim.quote).rstrip(".")
    if claim.kind == "period" and len(quote) <= _SHORT_QUOTE:
        return f"“{quote}”"
    return said_years(claim) or f"“{quote}”"


def _details(claims: Sequence[Claim], writing: Writing) -> str:
    if not writing.detail.evidence:
        return ""
    told: list[str] = []
    for claim in claims:
        if claim.kind == "maker" or not claim.evidence or (claim.wording and dates_the_find(claim)):
            continue
        evidence = claim.evidence[0]
        statement = writing.text(claim.wording or evidence.statement)
        if statement and not any(statement in t for t in told):
            told.append(f"{sentence(statement).rstrip('.')}{writing.cite_sources([evidence.source])}")
    return "".join(f". {t}" for t in told)
