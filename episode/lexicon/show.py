"""All that is known of a term, for a person and for a program."""

from __future__ import annotations

from typing import Any

from episode.lexicon.book import Lexicon
from episode.lexicon.names import name_key
from episode.models import Term


def lines(term: Term, lexicon: Lexicon) -> list[str]:
    """What ``describe`` gives, as lines of text; empty parts are left out."""
    known = describe(term, lexicon)
    shown = [f"{known['term']} ({known['kind']}, {'pack ' + known['pack'] if known['pack'] else 'added'})"]
    for label, value in (
        ("also called", ", ".join(known["also"])),
        ("known mishearings", ", ".join(known["heard_as"])),
        ("a kind of", " → ".join(known["broader"])),
        ("also a kind of", ", ".join(known["broader_more"])),
        ("kinds of it", ", ".join(known["narrower"])),
        ("material", known["material"]),
        ("dated", _years(term)),
        ("common words", ", ".join(known["everyday"])),
        ("note", known["note"]),
        ("source", known["reference"] or known["source"]),
        ("thesaurus", known["match"]),
    ):
        if value:
            shown.append(f"  {label}: {value}")
    for fact in known["facts"]:
        shown.append(f"  {fact['topic']}: {fact['statement']} [{fact['reference']}; {fact['grade']}]")
    return shown


def describe(term: Term, lexicon: Lexicon) -> dict[str, Any]:
    """A term with its place in the hierarchy and the facts on record, as plain values.

    Keys: ``term``, ``kind``, ``pack``, ``also``, ``heard_as``, ``broader`` (nearest first), ``broader_more``, ``narrower``,
    ``material``, ``from``, ``to``, ``note``, ``source``, ``reference``, ``match``, ``everyday`` (which of its
    names are common words) and ``facts`` (``topic``, ``statement``, ``from``, ``to``, ``source``,
    ``reference``, ``grade``).
    """
    from episode.record.load import load_record

    record = load_record()
    key = name_key(term.term)
    return {
        "term": term.term,
        "kind": term.kind.value,
        "pack": term.pack,
        "also": list(term.also),
        "heard_as": list(term.heard_as),
        "broader": [above.term for above in lexicon.broader(term)],
        "broader_more": list(term.broader_more),
        "narrower": [t.term for t in lexicon.terms if key in {name_key(n) for n in (t.broader, *t.broader_more) if n}],
        "material": term.material,
        "from": term.from_,
        "to": term.to,
        "note": term.note,
        "source": term.source,
        "reference": record.reference(term.source) if term.source else None,
        "match": term.match,
        "everyday": [*([term.term] if term.everyday else []), *term.everyday_names],
        "facts": [
            {
                "topic": fact.topic,
                "statement": fact.statement,
                "from": fact.from_,
                "to": fact.to,
                "source": fact.source,
                "reference": record.reference(fact.source),
                "grade": fact.grade.value,
            }
            for fact in record.about(term.term)
        ],
    }


def _years(term: Term) -> str:
    if term.from_ is None and term.to is None:
        return ""
    return f"{_year(term.from_) if term.from_ is not None else ''}–{_year(term.to) if term.to is not None else ''}"


def _year(year: int) -> str:
    """An astronomical year as it is said: 0 is 1 BC."""
    return str(year) if year > 0 else f"{1 - year:,} BC"
