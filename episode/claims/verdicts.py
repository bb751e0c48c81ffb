"""A dated statement weighed against the facts of the record.

Each topic excludes by its own logic: a patent year by being another year, a time of making by lying wholly
outside every published range of the very term (never of a wider one), an introduction by being later, a reign
by not meeting it. What cannot exclude may still support. From memory alone nothing is supported or excluded.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from episode.claims.evidence import evidence_of
from episode.claims.intervals import closed, relation
from episode.claims.monarchs import against_reign
from episode.claims.opinions import MOMENT, Opinion, Years, claimed, known_years, only_allows, opinions, wider_opinions
from episode.claims.parts import speaks_of_a_part
from episode.claims.said import years
from episode.claims.statements import Statement
from episode.models import Evidence, Fact, Grade, Verdict
from episode.record.load import Record


@dataclass(frozen=True)
class Finding:
    """A verdict with what it rests on and one sentence why."""

    verdict: Verdict
    evidence: tuple[Evidence, ...] = ()
    why: str = ""


_HE = re.compile(r"\b(?:he|she|his|her|him)\b", re.IGNORECASE)

ONLY_UNREVIEWED = "but by a page that anyone may write in: find a better source"
_RANK = {Verdict.SUPPORTED: 0, Verdict.IMPRECISE: 1, Verdict.UNREFERENCED: 2, Verdict.CONTRADICTED: 3}
"""Support by one fact outweighs what the others say, since sources differ; exclusion needs all to exclude."""


def judge_dates(statement: Statement, record: Record) -> Finding:
    """The verdict on a dated statement."""
    if statement.span is None:
        return Finding(Verdict.UNREFERENCED)
    own = _facts(record, statement.names)
    people = _facts(record, statement.people)
    people += [f for f in _facts(record, tied_people(statement, own)) if f not in people]
    if statement.aspect == "active" and not people:
        people = _namesakes(statement, record)
    sourced = [f for f in (*own, *people) if f.grade is not Grade.MEMORY]
    heard = list(opinions(statement, [f for f in own if f in sourced], [f for f in people if f in sourced]))
    reign = against_reign(statement, record)
    if reign is not None:
        heard = [reign]
    elif not heard:
        wider = [f for f in _facts(record, statement.wider) if f.grade is not Grade.MEMORY and f.topic == "range"]
        heard = list(wider_opinions(statement, wider))
    if not heard:
        return _silent(statement, [*own, *people])
    reviewed = [o for o in heard if not record.unreviewed(o.fact.source)]
    heard = [_weakened(o, claimed(statement)) for o in reviewed or heard]
    best = min(heard, key=lambda o: (_RANK[o.verdict], _wide(o.fact)))
    if not reviewed:
        return Finding(Verdict.UNREFERENCED, (evidence_of(best.fact, record),), f"{best.why}, {ONLY_UNREVIEWED}")
    if best.verdict is Verdict.CONTRADICTED and (open_page := _held_by_a_page(statement, own, people, record)):
        return Finding(Verdict.UNREFERENCED, (evidence_of(best.fact, record), evidence_of(open_page, record)), best.why)
    if best.verdict is Verdict.CONTRADICTED and speaks_of_a_part(statement):
        why = "said of a part or a kind of it, perhaps: " + best.why
        return Finding(Verdict.UNREFERENCED, (evidence_of(best.fact, record),), why)
    if best.verdict is Verdict.CONTRADICTED and statement.cautious:
        why = "said of a copy or a likeness: " + best.why
        return Finding(Verdict.UNREFERENCED, (evidence_of(best.fact, record),), why)
    kept = [o for o in heard if o.verdict is best.verdict]
    return Finding(best.verdict, tuple(evidence_of(o.fact, record) for o in kept[:4]), best.why)


_THEY = re.compile(r"\b(?:they|the (?:firm|company|works|factory|business))\b", re.IGNORECASE)


def _namesakes(statement: Statement, record: Record) -> list[Fact]:
    """For "they" over a thing that is called after its maker, the firms of that name: Kilner Brothers, Kilner jar."""
    first = (statement.about or "").split()[:1]
    if not first or not first[0][:1].isupper() or not _THEY.search(statement.scene.text):
        return []
    return [
        f
        for f in record.facts
        if f.topic in {"active", "event"} and f.about.split()[:1] == first and f.about != statement.about
    ]


def _held_by_a_page(statement: Statement, own: list[Fact], people: list[Fact], record: Record) -> Fact | None:
    """A fact on a page that anyone may write in, which gives the very year that better sources seem to exclude."""
    for fact in (*own, *people):
        first, last = known_years(fact) or (None, None)
        if first is None or last is None or last - first > MOMENT or not record.unreviewed(fact.source):
            continue
        if relation(claimed(statement), (first, last)) == "inside":
            return fact
    return None


def tied_people(statement: Statement, own: list[Fact]) -> list[str]:
    """Persons whom the record ties to the thing, where the sentence says their surname, or "he" and there is one."""
    tied = list(dict.fromkeys(f.person for f in own if len(f.person.split()) > 1))
    text = statement.scene.text
    named = [p for p in tied if re.search(rf"\b{re.escape(p.split()[-1])}\b", text, re.IGNORECASE)]
    if named or statement.people or statement.aspect != "life":
        return named
    return tied if len(tied) == 1 and _HE.search(text) else []


def _wide(fact: Fact) -> int:
    """How many years a fact spans: of facts that say the same, the narrowest tells most."""
    first, last = closed((fact.from_, fact.to))
    return last - first


def _weakened(opinion: Opinion, claim: Years) -> Opinion:
    if opinion.verdict is Verdict.SUPPORTED and only_allows(claim, opinion):
        return opinion._replace(verdict=Verdict.UNREFERENCED, why=f"{opinion.why}, which only allows the claim")
    return opinion


def _facts(record: Record, names: Iterable[str]) -> list[Fact]:
    found: dict[int, Fact] = {}
    for name in names:
        for fact in record.about(name):
            found.setdefault(id(fact), fact)
    return list(found.values())


def _silent(statement: Statement, facts: list[Fact]) -> Finding:
    """Nothing sourced decides; what is known from memory is where to look."""
    remembered = [f for f in facts if f.grade is Grade.MEMORY and known_years(f)]
    if remembered:
        where = "; ".join(dict.fromkeys(f"{f.statement.rstrip('.')} ({years(f.from_, f.to)})" for f in remembered[:3]))
        return Finding(Verdict.UNREFERENCED, (), f"the record holds this only from memory, as a place to look: {where}")
    if statement.about is None:
        return Finding(Verdict.UNREFERENCED, (), "what it is about is not in the record")
    return Finding(Verdict.UNREFERENCED, (), f"the record gives no such date for {statement.about}")
