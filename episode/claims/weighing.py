"""The verdict on a statement that is no date: makers, origins, materials, persons, superlatives, quantities."""

from __future__ import annotations

from collections.abc import Iterable

from episode.claims.evidence import evidence_of
from episode.claims.origins import countries
from episode.claims.said import years
from episode.claims.statements import Statement
from episode.claims.verdicts import ONLY_UNREVIEWED, Finding
from episode.lexicon.book import Lexicon
from episode.models import Fact, Grade, Kind, Verdict
from episode.record.load import Record, name_key


def judge_words(statement: Statement, record: Record, lexicon: Lexicon) -> Finding:
    """The verdict on a statement whose value is a name or a boast.

    An origin is contradicted where every sourced origin of the very term is known to the lexicon and lies in
    another country than the one claimed; a material where a primary source gives one, without a qualifying note,
    and the one claimed is neither of its kind nor a wider name for it. Nothing else can be.
    """
    if statement.kind == "superlative":
        return Finding(Verdict.UNREFERENCED, why="a superlative always needs a reference")
    if statement.kind == "quantity":
        return Finding(Verdict.UNREFERENCED, why="a number needs a reference")
    own = [f for name in statement.names for f in record.about(name) if f.grade is not Grade.MEMORY]
    reviewed = [f for f in own if not record.unreviewed(f.source)]
    finding = _weigh(statement, reviewed, record, lexicon)
    if finding.verdict is Verdict.UNREFERENCED and len(reviewed) < len(own):
        open_to_all = _weigh(statement, own, record, lexicon)
        if open_to_all.verdict is not Verdict.UNREFERENCED:
            why = f"{open_to_all.why}, {ONLY_UNREVIEWED}"
            return Finding(Verdict.UNREFERENCED, open_to_all.evidence, why)
    return finding


def _weigh(statement: Statement, own: list[Fact], record: Record, lexicon: Lexicon) -> Finding:
    if statement.kind == "material":
        return _material(statement, own, record, lexicon)
    if statement.kind == "origin":
        return _origin(statement, own, record, lexicon)
    return _named(statement, own, record)


def _material(statement: Statement, own: list[Fact], record: Record, lexicon: Lexicon) -> Finding:
    claimed = _chain(statement.value, lexicon)
    for fact in own:
        if fact.topic != "material":
            continue
        named = {name_key(fact.place), name_key(fact.statement)}
        said = " ".join(named)
        if any(name_key(name) in said for name in claimed):
            return Finding(Verdict.SUPPORTED, (evidence_of(fact, record),), "the record names that material")
    strict = [f for f in own if f.topic == "material" and f.grade is Grade.PRIMARY and not f.note.strip()]
    if strict and all(_other_material(statement.value, f, lexicon) for f in strict):
        evidence = tuple(evidence_of(f, record) for f in strict[:4])
        why = f"the record gives {_material_of(strict[0])}; the claim says {statement.value}"
        return Finding(Verdict.CONTRADICTED, evidence, why)
    term = lexicon.get(statement.about or "")
    usual = name_key(term.material) if term and term.material else ""
    if (
        usual
        and usual not in {name_key(c) for c in claimed}
        and name_key(statement.value) not in _chain_keys(usual, lexicon)
    ):
        return Finding(
            Verdict.UNREFERENCED, why=f"the vocabulary gives {term.material if term else ''} for {statement.about}"
        )
    return Finding(Verdict.UNREFERENCED, why="an observation of the material; the record holds no fact for it")


def _material_of(fact: Fact) -> str:
    return (fact.place or fact.statement).strip().rstrip(".")


def _other_material(claimed: str, fact: Fact, lexicon: Lexicon) -> bool:
    """Both are materials that the lexicon knows, and share no word ("pewter", a lead alloy, is near to lead)."""
    said, known = lexicon.named(claimed), lexicon.named(_material_of(fact))
    if said is None or said.kind is not Kind.MATERIAL:
        return False
    if known is None or known.kind not in {Kind.MATERIAL, Kind.WARE}:
        return False
    if lexicon.is_a(said, known) or lexicon.is_a(known, said):
        return False
    return not _words_of(said.term, lexicon) & _words_of(known.term, lexicon)


def _words_of(name: str, lexicon: Lexicon) -> set[str]:
    """The words of a material and of the kinds above it, without the widest."""
    chain = _chain(name, lexicon)
    return {word for n in chain[: max(1, len(chain) - 1)] for word in name_key(n).split()}


def _chain_keys(name: str, lexicon: Lexicon) -> set[str]:
    return {name_key(n) for n in _chain(name, lexicon)}


def _chain(name: str, lexicon: Lexicon) -> list[str]:
    """A term and the wider ones above it."""
    term = lexicon.named(name)
    return [name] if term is None else [term.term, *(t.term for t in lexicon.broader(term))]


def _origin(statement: Statement, own: list[Fact], record: Record, lexicon: Lexicon) -> Finding:
    facts = [f for f in own if f.topic in {"origin", "place"} and f.place]
    if not facts:
        return Finding(Verdict.UNREFERENCED, why=f"the record gives no origin for {statement.about}")
    claimed = statement.value.split(";")
    for fact in facts:
        spoken = any(name_key(part) in name_key(statement.words) for part in _places(fact.place))
        if spoken or any(_same_place(place, fact.place, lexicon) for place in claimed):
            return Finding(Verdict.SUPPORTED, (evidence_of(fact, record),), f"the record has it from {fact.place}")
    known = [{c for part in _places(fact.place) if (c := _country(part, lexicon))} for fact in facts]
    said = {_country(place, lexicon) for place in claimed}
    same = any(c & said for c in known)
    if all(known) and None not in said and not same and all(f.topic == "origin" for f in facts):
        evidence = tuple(evidence_of(f, record) for f in facts[:4])
        return Finding(
            Verdict.CONTRADICTED, evidence, f"the record has it from {facts[0].place}; the claim says {claimed[0]}"
        )
    evidence = tuple(evidence_of(f, record) for f in facts[:4])
    return Finding(Verdict.UNREFERENCED, evidence, f"the record has it from {facts[0].place}, which does not settle it")


def _places(cell: str) -> list[str]:
    return [part.strip() for part in cell.replace(",", ";").replace(" and ", ";").split(";") if part.strip()]


def _same_place(claimed: str, known: str, lexicon: Lexicon) -> bool:
    """The claim names the place, or one that contains it ("Germany" for Frechen); a narrower one is not yet held."""
    for part in _places(known):
        chain = [name_key(n) for n in _chain(part, lexicon)]
        if name_key(claimed) in chain or name_key(claimed) in name_key(known):
            return True
    return False


def _country(place: str, lexicon: Lexicon) -> str | None:
    """The widest place above, or ``None`` where neither the lexicon nor the list of countries knows the place."""
    term = lexicon.named(place)
    top = _chain(place, lexicon)[-1] if term and term.kind is Kind.PLACE else place
    lands = {name_key(name): name_key(country) for name, country in countries().items()}
    if name_key(top) in lands:
        return lands[name_key(top)]
    return name_key(top) if term and term.kind is Kind.PLACE else None


def _named(statement: Statement, own: list[Fact], record: Record) -> Finding:
    """A maker or person: held where a sourced fact about the thing names them; what else is told of them is not."""
    keys = {name_key(p) for p in (statement.value, *statement.people)}
    for fact in () if statement.cautious else own:
        if name_key(fact.person) in keys or any(k and len(k) > 3 and k in name_key(fact.statement) for k in keys):
            return Finding(Verdict.SUPPORTED, (evidence_of(fact, record),), "the record names them with it")
    about = [f for k in keys for f in record.about(k)]
    firm = [f for f in about if f.grade is not Grade.MEMORY]
    if statement.cautious:
        why = f"the record names {statement.value}, but does not hold what is told here"
        return Finding(Verdict.UNREFERENCED, tuple(evidence_of(f, record) for f in _unique(firm)[:4]), why)
    if firm:
        evidence = tuple(evidence_of(f, record) for f in _unique(firm)[:4])
        return Finding(
            Verdict.UNREFERENCED, evidence, "the record knows the name, but not that it stands behind this object"
        )
    remembered = _unique(f for f in about if f.grade is Grade.MEMORY)
    if remembered:
        where = "; ".join(f"{f.statement.rstrip('.')} ({years(f.from_, f.to)})" for f in remembered[:3])
        return Finding(Verdict.UNREFERENCED, why=f"the record holds this only from memory, as a place to look: {where}")
    return Finding(Verdict.UNREFERENCED, why=f"the record does not know {statement.value}")


def _unique(facts: Iterable[Fact]) -> list[Fact]:
    return list({id(f): f for f in facts}.values())
