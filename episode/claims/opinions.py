"""What each fact of the record says to a dated statement, topic by topic."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from episode.claims.intervals import gap, relation
from episode.claims.said import years
from episode.claims.statements import Statement
from episode.models import DateSpan, Fact, Verdict
from episode.record.load import name_key

Years = tuple[int | None, int | None]
RANGE_GIVE = 5
"""Years by which published ranges of the same ware commonly differ at their ends (common practice, no source)."""
SOFT_GAP = 20
"""A first or last year read off a range is contradicted only from this far away; nearer is imprecise."""
WITHDRAWAL_GIVE = 1
"""Lists give the last legal day or the day after."""
WIDEST = 250
"""A range wider than this allows a narrow claim without holding it."""
WIDEST_OPEN = 50
"""So does one whose other end nobody gives, further than this from the end that is known."""


MOMENT = 5
"""An event of more years is no moment at which anything came in."""


class Opinion(NamedTuple):
    """What one fact says: ``holds`` are the years within which it allows the claim, where it is a range."""

    verdict: Verdict
    fact: Fact
    why: str
    holds: Years | None = None


def opinions(statement: Statement, own: list[Fact], people: list[Fact]) -> Iterable[Opinion]:
    """What the sourced facts about the thing (``own``) and its makers say, by what the date is of."""
    aspect = statement.aspect
    of_person = _by_person([*own, *people], statement.people)
    if aspect == "patent":
        patents = [f for f in of_person if f.topic == "patent"] or [f for f in own if f.topic == "patent"]
        yield from _years_of(statement, patents, "the patent dates from", give=0)
        yield from _outlived(statement, people)
    elif aspect == "introduced":
        yield from _introduced(statement, own)
        yield from _outlived(statement, people)
    elif aspect == "withdrawn":
        yield from _withdrawn(statement, own)
    elif aspect == "life":
        yield from _lives(statement, people)
    elif aspect == "reigned":
        yield from _years_of(statement, [f for f in own if f.topic == "reign"], "the reign was", give=0)
    elif aspect == "active":
        yield from _firm(statement, people)
    elif aspect == "made":
        yield from _made(statement, own, [f for f in people if f.topic == "active"])
    elif aspect == "lost":
        yield from (o for o in _made(statement, own, []) if o.verdict is not Verdict.CONTRADICTED)


def _by_person(facts: list[Fact], people: tuple[str, ...]) -> list[Fact]:
    keys = {name_key(p) for p in people}
    return [f for f in facts if name_key(f.person) in keys or name_key(f.about) in keys]


def claimed(statement: Statement) -> Years:
    """The years of the claim."""
    span = statement.span
    return (span.from_, span.to) if span else (None, None)


def _point(statement: Statement) -> tuple[int | None, int | None]:
    """The years of the claim with an open end closed: "until 1975" names 1975."""
    first, last = claimed(statement)
    return (last if first is None else first), (first if last is None else last)


def _years_of(statement: Statement, facts: list[Fact], words: str, give: int) -> Iterable[Opinion]:
    claim = _point(statement)
    for fact in facts:
        known = known_years(fact)
        if known is None:
            continue
        stands = relation(claim, known, give)
        about = bool(statement.span and statement.span.approximate and statement.span.kind == "year")
        if stands == "inside" or (about and stands == "contains"):
            yield Opinion(Verdict.SUPPORTED, fact, f"{words} {years(*known)}")
        elif stands == "apart" and gap(claim, known) > give:
            yield Opinion(Verdict.CONTRADICTED, fact, f"{words} {years(*known)}; the claim says {years(*claim)}")
        else:
            yield Opinion(
                Verdict.IMPRECISE, fact, f"{words} {years(*known)}; the claim, {years(*claim)}, is wider or shifted"
            )


def known_years(fact: Fact) -> Years | None:
    """The years of a fact, or ``None`` where it gives none."""
    if fact.from_ is None and fact.to is None:
        return None
    return fact.from_, fact.to


def _outlived(statement: Statement, people: list[Fact]) -> Iterable[Opinion]:
    """Nobody patents or invents before being born or after dying."""
    claim = _point(statement)
    for fact in people:
        known = known_years(fact)
        if fact.topic == "life" and known and relation(claim, known) == "apart":
            yield Opinion(
                Verdict.CONTRADICTED, fact, f"{fact.about} lived {years(*known)}; the claim says {years(*claim)}"
            )


def _introduced(statement: Statement, facts: list[Fact]) -> Iterable[Opinion]:
    claim = _point(statement)
    dated = [f for f in facts if f.topic == "introduced" and known_years(f)]
    for fact in dated:
        first = fact.from_ if fact.from_ is not None else fact.to
        known = (first, fact.to if fact.to is not None else first)
        yield from _years_of(statement, [replace_years(fact, known)], "it was introduced in", give=2)
    for fact in facts:
        when = known_years(fact) if fact.topic == "event" else None
        if when and None not in when and gap((when[0], when[0]), (when[1], when[1])) <= MOMENT:
            if relation(claim, when) != "inside":
                continue
            yield Opinion(Verdict.SUPPORTED, fact, "the record has that year")
    for fact in facts:
        if fact.topic != "range" or fact.from_ is None or dated:
            continue
        start = (fact.from_, fact.from_)
        says = f"the record has it from {years(fact.from_, None)[:-9]}"
        if relation(start, claim, RANGE_GIVE) == "inside":
            wide = (claim[1] or 0) - (claim[0] or 0) > 50
            verdict = Verdict.IMPRECISE if wide else Verdict.SUPPORTED
            yield Opinion(verdict, fact, says + (f"; the claim, {years(*claim)}, is wider" if wide else ""))
        elif gap(start, claim) > SOFT_GAP:
            yield Opinion(Verdict.CONTRADICTED, fact, f"{says}; the claim says {years(*claim)}")
        else:
            yield Opinion(Verdict.IMPRECISE, fact, f"{says}; the claim says {years(*claim)}")


def replace_years(fact: Fact, known: tuple[int | None, int | None]) -> Fact:
    """The fact with both ends of its years filled in."""
    return fact.model_copy(update={"from_": known[0], "to": known[1]})


def _withdrawn(statement: Statement, facts: list[Fact]) -> Iterable[Opinion]:
    span = statement.span
    if span is None:
        return
    ends = (span.to, span.to) if span.from_ is None or span.kind in {"range", "before"} else _point(statement)
    dated = [f for f in facts if f.topic == "withdrawn" and known_years(f)]
    for fact in dated:
        last = fact.to if fact.to is not None else fact.from_
        known = (fact.from_ if fact.from_ is not None else last, last)
        words = "it was withdrawn in"
        stands = relation(ends, known, WITHDRAWAL_GIVE)
        if stands == "inside":
            yield Opinion(Verdict.SUPPORTED, fact, f"{words} {years(*known)}")
        elif stands == "apart" and gap(ends, known) > WITHDRAWAL_GIVE:
            yield Opinion(Verdict.CONTRADICTED, fact, f"{words} {years(*known)}; the claim says {years(*ends)}")
        else:
            yield Opinion(Verdict.IMPRECISE, fact, f"{words} {years(*known)}; the claim says {years(*ends)}")
    for fact in facts:
        if fact.topic != "range" or fact.to is None or dated:
            continue
        last_ = (fact.to, fact.to)
        words = f"the record has it until {years(fact.to, fact.to)}"
        if relation(last_, ends, RANGE_GIVE) == "inside":
            yield Opinion(Verdict.SUPPORTED, fact, words)
        elif gap(last_, ends) > SOFT_GAP:
            yield Opinion(Verdict.CONTRADICTED, fact, f"{words}; the claim says {years(*ends)}")
        else:
            yield Opinion(Verdict.IMPRECISE, fact, f"{words}; the claim says {years(*ends)}")


def _lives(statement: Statement, people: list[Fact]) -> Iterable[Opinion]:
    claim = _point(statement)
    before = statement.scene.text[: statement.at].lower()
    born = before.rfind("born") > max(before.rfind("died"), before.rfind("dead"))
    for fact in people:
        if fact.topic != "life":
            continue
        end = fact.from_ if born else fact.to
        if end is None:
            continue
        words = f"{fact.about} was born in {years(end, end)}" if born else f"{fact.about} died in {years(end, end)}"
        if relation(claim, (end, end)) in {"inside", "contains"}:
            yield Opinion(Verdict.SUPPORTED, fact, words)
        else:
            yield Opinion(Verdict.CONTRADICTED, fact, f"{words}; the claim says {years(*claim)}")


def _made(statement: Statement, own: list[Fact], firms: list[Fact]) -> Iterable[Opinion]:
    claim = claimed(statement)
    started = [f for f in own if f.topic == "introduced" and known_years(f)]
    stopped = [f for f in own if f.topic == "withdrawn" and known_years(f)]
    for fact in (*(f for f in own if f.topic in {"range", "period"}), *firms):
        known = known_years(fact)
        if known is None:
            continue
        words = f"the record has {'the firm at work' if fact in firms else 'it'} {_spelt(known)}"
        stands = relation(claim, known, RANGE_GIVE)
        if statement.begins and known[0] is not None and stands != "apart":
            yield _begun(statement.begins, fact, known, words)
        elif stands == "inside" or (stands == "contains" and None in claim):
            yield Opinion(Verdict.SUPPORTED, fact, words, known)
        elif stands != "apart" or gap(claim, known) <= RANGE_GIVE:
            yield Opinion(Verdict.IMPRECISE, fact, f"{words}; the claim, {years(*claim)}, is wider or shifted")
        else:
            yield Opinion(Verdict.CONTRADICTED, fact, f"{words}; the claim says {years(*claim)}")
    yield from _bounded(claim, started, stopped)


def _begun(said: DateSpan, fact: Fact, known: Years, words: str) -> Opinion:
    """A beginning is weighed against the first year: a range that merely holds it does not begin there."""
    first = (known[0], known[0])
    if gap((said.from_, said.to), first) <= RANGE_GIVE:
        return Opinion(Verdict.SUPPORTED, fact, words, known)
    why = f"{words}; the claim has it begin in {years(said.from_, said.to)}"
    return Opinion(Verdict.IMPRECISE, fact, why)


def _spelt(known: tuple[int | None, int | None]) -> str:
    first, last = known
    if first is not None and last is not None and first != last:
        return f"from {years(first, last)}"
    return years(first, last)


_BEGAN = re.compile(r"\b(?:founded|established|set up|started|began|begun)\b", re.IGNORECASE)
_ENDED = re.compile(
    r"\b(?:went bust|went under|out of business|ended|finished|clos(?:ed|es)(?! (?:the|its|their|his|her|a|in on)\b))",
    re.IGNORECASE,
)
_WORKED = re.compile(
    r"\b(?:worked|traded|at work|in business|active|operated|operating|working|trading)\b", re.IGNORECASE
)


def _firm(statement: Statement, people: list[Fact]) -> Iterable[Opinion]:
    """A founding is weighed against the first year, a closing against the last, any other deed against events.

    A deed of which the record has no event is only allowed by the years of the firm, or excluded by them.
    """
    claim, text = claimed(statement), statement.scene.text
    firms = [f for f in people if f.topic == "active" and known_years(f)]
    events = [f for f in people if f.topic == "event" and known_years(f) and _told(f, text)]
    held = [
        f
        for f in events
        if relation(claim, (f.from_, f.to)) == "inside" and gap((f.from_, f.from_), (f.to, f.to)) <= MOMENT
    ]
    for fact in held:
        yield Opinion(Verdict.SUPPORTED, fact, "the record has that year")
    if held:
        return
    for side, pattern, word in (("from_", _BEGAN, "from"), ("to", _ENDED, "until")):
        ends = [(f, year) for f in firms if (year := getattr(f, side)) is not None]
        if pattern.search(text) and ends:
            for fact, year in ends:
                yield _at_an_end(statement, fact, year, f"the record has the firm at work {word} {years(year, year)}")
            return
    opinions_ = list(_made(statement, [], firms))
    if not _WORKED.search(text):
        opinions_ = [
            o._replace(verdict=Verdict.UNREFERENCED, why=f"{o.why}, which only allows the claim")
            if o.verdict is not Verdict.CONTRADICTED
            else o
            for o in opinions_
        ]
    yield from opinions_


def _told(fact: Fact, text: str) -> bool:
    """The sentence names a word of the event that is not the firm's own name: its place, its other party."""
    own = set(name_key(fact.about).split())
    names = {w.lower() for w in re.findall(r"\b[A-Z][a-z]{3,}\b", fact.statement)} - own
    return bool(names & set(re.findall(r"[a-z]{4,}", text.lower())))


def _doubtful(fact: Fact, year: int) -> bool:
    """The note qualifies that end of the years."""
    return bool(fact.note.strip()) and ("end" in fact.note.split()) == (year == fact.to)


def _at_an_end(statement: Statement, fact: Fact, year: int, words: str) -> Opinion:
    claim = _point(statement)
    stands = relation(claim, (year, year), WITHDRAWAL_GIVE)
    about = bool(statement.span and statement.span.approximate)
    if stands == "inside" or (about and stands == "contains"):
        return Opinion(Verdict.SUPPORTED, fact, words)
    if stands == "apart" and gap(claim, (year, year)) > SOFT_GAP and not _doubtful(fact, year):
        return Opinion(Verdict.CONTRADICTED, fact, f"{words}; the claim says {years(*claim)}")
    return Opinion(Verdict.IMPRECISE, fact, f"{words}; the claim says {years(*claim)}")


def _bounded(claim: tuple[int | None, int | None], started: list[Fact], stopped: list[Fact]) -> Iterable[Opinion]:
    """Made no earlier than the earliest introduction, and for what was withdrawn, not after the last withdrawal."""
    if not started:
        return
    first = min(started, key=_start)
    begins = _start(first)
    last = max(stopped, key=lambda f: f.to if f.to is not None else f.from_ or 0) if stopped else None
    ends = (last.to if last.to is not None else last.from_) if last else None
    if gap(claim, (begins, None)) > 2:
        yield Opinion(
            Verdict.CONTRADICTED,
            first,
            f"it was introduced in {years(begins, begins)}; the claim says {years(*claim)}",
        )
    elif last is not None and gap(claim, (None, ends)) > 2:
        yield Opinion(
            Verdict.CONTRADICTED, last, f"it was withdrawn in {years(ends, ends)}; the claim says {years(*claim)}"
        )
    elif last is not None and relation(claim, (begins, ends), 2) == "inside":
        nearest = max((f for f in started if gap(claim, (_start(f), None)) == 0), key=_start, default=first)
        known = (_start(nearest), ends)
        yield Opinion(Verdict.SUPPORTED, nearest, f"it was current from {years(*known)}", known)


def _start(fact: Fact) -> int:
    return fact.from_ if fact.from_ is not None else fact.to or 0


def wider_opinions(statement: Statement, facts: list[Fact]) -> Iterable[Opinion]:
    """A wider term's range may hold the claim; it cannot exclude it."""
    if statement.aspect != "made":
        return
    claim = claimed(statement)
    for fact in facts:
        known = known_years(fact)
        if known is None or None in known:
            continue
        if relation(claim, known, RANGE_GIVE) == "inside":
            yield Opinion(
                Verdict.SUPPORTED, fact, f"the record dates the wider type, {fact.about}, {_spelt(known)}", known
            )


def only_allows(claim: Years, opinion: Opinion) -> bool:
    """A range of many centuries says next to nothing on a claim of a few years."""
    if opinion.holds is None or claim[0] is None or claim[1] is None:
        return False
    begins, ends = opinion.holds
    if begins is None or ends is None:
        known = begins if begins is not None else ends
        return known is not None and gap(claim, (known, known)) > WIDEST_OPEN
    return ends - begins > WIDEST and (claim[1] - claim[0] + 1) * 4 < ends - begins
