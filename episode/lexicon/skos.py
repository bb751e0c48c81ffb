"""SKOS thesauri in and out (W3C Recommendation, 18 August 2009).

prefLabel, altLabel, hiddenLabel, broader and scopeNote are the columns ``term``, ``also``, ``heard_as``,
``broader`` and ``note``; a concept's own address, or its exactMatch or closeMatch, is ``match``.
"""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from episode.errors import UnusableInput
from episode.lexicon.book import Lexicon
from episode.lexicon.names import name_key
from episode.lexicon.terms import COLUMNS
from episode.models import Kind, Problem, Term
from episode.sheets import LONGEST_CELL
from episode.storage import write_bytes, write_text

if TYPE_CHECKING:
    from rdflib import Graph
    from rdflib.term import Node

LARGEST_FILE = 64 * 1024 * 1024
FORMATS = {
    ".rdf": "xml", ".xml": "xml", ".owl": "xml", ".skos": "xml",
    ".ttl": "turtle", ".n3": "turtle", ".nt": "nt",
    ".jsonld": "json-ld", ".json": "json-ld",
}  # fmt: skip
BASE = "urn:x-episode:"
"""Addresses of our own terms on export; they name, they lead nowhere."""


def import_skos(file: Path, to: Path, *, language: str = "en") -> tuple[int, tuple[Problem, ...]]:
    """Write the concepts of a thesaurus as a vocabulary file; returns how many, and what was lost.

    Args:
        file: RDF/XML, Turtle, N-Triples or JSON-LD.
        to: the CSV file to write.
        language: labels in this language, or without one, are taken; others only where there is none.

    Raises:
        UnusableInput: the file is no such thing, is too large, names outside entities or contexts, or
            holds no concept.
        CannotWrite: ``to`` cannot be written.
    """
    terms, problems = terms_of_skos(file, language=language)
    sheet = io.StringIO(newline="")
    writer = csv.writer(sheet, lineterminator="\n")
    writer.writerow(COLUMNS)
    for term in terms:
        writer.writerow(_row(term))
    write_text(to, sheet.getvalue())
    return len(terms), tuple(problems)


def export_skos(lexicon: Lexicon, to: Path) -> None:
    """Write a lexicon as a SKOS concept scheme in Turtle, in a fixed order.

    Raises:
        CannotWrite: ``to`` cannot be written.
    """
    from rdflib import RDF, SKOS, Graph, Literal, URIRef
    from rdflib.namespace import DCTERMS

    graph = Graph()
    graph.bind("skos", SKOS)
    graph.bind("dcterms", DCTERMS)
    scheme = URIRef(BASE + "vocabulary")
    graph.add((scheme, RDF.type, SKOS.ConceptScheme))
    graph.add((scheme, DCTERMS.title, Literal("Trade vocabulary of finds", lang="en")))
    for term in lexicon.terms:
        concept = URIRef(_address(term))
        graph.add((concept, RDF.type, SKOS.Concept))
        graph.add((concept, SKOS.inScheme, scheme))
        graph.add((concept, SKOS.prefLabel, Literal(term.term, lang="en")))
        graph.add((concept, DCTERMS.type, Literal(term.kind.value)))
        for name in term.also:
            graph.add((concept, SKOS.altLabel, Literal(name, lang="en")))
        for name in term.heard_as:
            graph.add((concept, SKOS.hiddenLabel, Literal(name, lang="en")))
        if term.note:
            graph.add((concept, SKOS.scopeNote, Literal(term.note, lang="en")))
        if term.source:
            graph.add((concept, DCTERMS.source, Literal(term.source)))
        if term.match:
            graph.add((concept, SKOS.closeMatch, URIRef(_safe(term.match))))
        above = next(iter(lexicon.broader(term)), None)
        if above is None:
            graph.add((concept, SKOS.topConceptOf, scheme))
        else:
            graph.add((concept, SKOS.broader, URIRef(_address(above))))
    write_bytes(to, graph.serialize(format="turtle").encode("utf-8"))


def terms_of_skos(file: Path, *, language: str = "en") -> tuple[list[Term], list[Problem]]:
    """The concepts of a thesaurus as terms, in order of their labels (see ``import_skos``)."""
    from rdflib import RDF, SKOS

    graph = _graph(file)
    concepts = sorted(set(graph.subjects(RDF.type, SKOS.Concept)) | set(graph.subjects(SKOS.prefLabel, None)), key=str)
    problems: list[Problem] = []
    labels: dict[Node, str] = {}
    taken: dict[str, Node] = {}
    for concept in concepts:
        label = next(iter(_texts(graph, concept, SKOS.prefLabel, language)), "")
        if not name_key(label):
            if (concept, RDF.type, SKOS.Concept) in graph:
                problems.append(Problem(where=str(file), what=f"{concept} has no label, so it was left out"))
            continue
        label = _own_case(label)
        if name_key(label) in taken:
            problems.append(
                Problem(
                    where=str(file),
                    what=f"“{label}” is the label of {taken[name_key(label)]} and of {concept}; the first was kept",
                    remedy="Give them different labels in the thesaurus.",
                )
            )
            continue
        taken[name_key(label)] = concept
        labels[concept] = label
    if not labels:
        raise UnusableInput(
            "holds no SKOS concept with a label", where=str(file), remedy="Export it as SKOS with skos:prefLabel."
        )
    terms = [_term(graph, concept, labels, language, file, problems) for concept in labels]
    return sorted(terms, key=lambda t: (name_key(t.term), t.term)), problems


def _graph(file: Path) -> Graph:
    """The file as a graph, read without reaching for anything outside it."""
    import logging

    from rdflib import Graph

    form = FORMATS.get(file.suffix.lower())
    if form is None:
        raise UnusableInput(
            f"“{file.suffix or 'no ending'}” is no ending of a SKOS file that is read",
            where=str(file),
            remedy=f"Known endings: {', '.join(FORMATS)}.",
        )
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise UnusableInput(f"is larger than {LARGEST_FILE // 1024**2} MB", where=str(file))
        data = file.read_bytes()
    except OSError as error:
        raise UnusableInput(f"cannot be read ({error.strerror or error})", where=str(file)) from error
    _refuse_outside(file, form, data)
    logging.getLogger("rdflib.term").setLevel(logging.CRITICAL)  # it reports odd dates of others on standard error
    try:
        return Graph().parse(data=data, format=form)
    except Exception as error:  # each of rdflib's parsers raises its own, some of them plain Exception
        first = str(error).strip().splitlines()[0][:200] if str(error).strip() else type(error).__name__
        raise UnusableInput(
            f"cannot be read as {form} ({first})", where=str(file), remedy="Check the file's ending and its syntax."
        ) from error


def _refuse_outside(file: Path, form: str, data: bytes) -> None:
    """Refuse what makes a parser fetch or multiply text: DTDs in XML, addresses of contexts in JSON-LD."""
    if form == "xml" and any(b"<!DOCTYPE" in _narrow(data, width) for width in (1, 2)):
        raise UnusableInput(
            "has a document type declaration, which is not read",
            where=str(file),
            remedy="Delete the <!DOCTYPE ...> and write out its entities, or save the thesaurus as Turtle.",
        )
    if form == "json-ld":
        import json

        try:
            content = json.loads(data)
        except (ValueError, RecursionError) as error:
            raise UnusableInput(f"is no JSON ({type(error).__name__})", where=str(file)) from error
        if _outside_context(content):
            raise UnusableInput(
                "names a context by its address, which is not fetched",
                where=str(file),
                remedy="Write the context into the file, or save the thesaurus as Turtle.",
            )


def _narrow(data: bytes, width: int) -> bytes:
    """UTF-16 as if it were bytes, for one look at markup."""
    return data if width == 1 else data.replace(b"\0", b"")


def _outside_context(content: Any) -> bool:
    if isinstance(content, dict):
        context = content.get("@context")
        for item in context if isinstance(context, list) else [context]:
            if isinstance(item, str) or (isinstance(item, dict) and "@import" in item):
                return True
        return any(_outside_context(value) for value in content.values())
    return isinstance(content, list) and any(_outside_context(item) for item in content)


def _texts(graph: Graph, concept: Node, predicate: Any, language: str) -> list[str]:
    """Values in the language wanted or in none; else in any, sorted."""
    found = [v for v in graph.objects(concept, predicate) if hasattr(v, "language")]
    wanted = [v for v in found if v.language is None or v.language.split("-")[0] == language]
    return sorted({" ".join(str(v).split()) for v in wanted or found})


def _own_case(label: str) -> str:
    """Labels of thesauri in capitals are lowered; any other stays as it is."""
    return label.lower() if label.isupper() else label


def _term(
    graph: Graph, concept: Node, labels: dict[Node, str], language: str, file: Path, problems: list[Problem]
) -> Term:
    from rdflib import SKOS
    from rdflib.namespace import DCTERMS

    label = labels[concept]
    also = [_name(n) for n in _texts(graph, concept, SKOS.altLabel, language) if name_key(n) != name_key(label)]
    above = sorted({labels[n] for n in graph.objects(concept, SKOS.broader) if n in labels and n != concept})
    above += sorted({labels[n] for n in graph.subjects(SKOS.narrower, concept) if n in labels and n != concept})
    above = list(dict.fromkeys(above))
    if len(above) > 1:
        problems.append(
            Problem(
                where=str(file),
                what=f"“{label}” stands below {len(above)} concepts; only “{above[0]}” was kept "
                f"(not {', '.join(above[1:])})",
                level="note",
            )
        )
    notes = _texts(graph, concept, SKOS.scopeNote, language) or _texts(graph, concept, SKOS.definition, language)
    matches = [str(m) for p in (SKOS.exactMatch, SKOS.closeMatch) for m in sorted(graph.objects(concept, p), key=str)]
    kinds = [str(v) for v in graph.objects(concept, DCTERMS.type)]
    own = str(concept)
    return Term(
        term=_name(label),
        kind=next((Kind(k) for k in sorted(kinds) if k in set(Kind)), Kind.OBJECT),
        also=tuple(dict.fromkeys(also)),
        heard_as=tuple(_name(n) for n in _texts(graph, concept, SKOS.hiddenLabel, language)),
        broader=_name(above[0]) if above else None,
        source=next((str(v) for v in sorted(graph.objects(concept, DCTERMS.source), key=str)), None),
        note=" ".join(notes)[:LONGEST_CELL] or None,
        match=matches[0] if matches else (own if own.startswith("http") else None),
        pack=file.stem,
    )


def _name(name: str) -> str:
    """A name that can stand in a cell where semicolons separate names."""
    return re.sub(r"\s*;\s*", ", ", name)


def _row(term: Term) -> list[str]:
    return [
        term.term, term.kind.value, "; ".join(term.also), "; ".join(term.heard_as), term.broader or "",
        term.material or "", "" if term.from_ is None else str(term.from_), "" if term.to is None else str(term.to),
        term.source or "", term.note or "", term.match or "",
        "; ".join([*(["yes"] if term.everyday else []), *term.everyday_names]),
    ]  # fmt: skip


def _address(term: Term) -> str:
    return BASE + "term:" + quote(name_key(term.term).replace(" ", "-"), safe="-")


def _safe(address: str) -> str:
    return quote(address, safe=":/?#[]@!$&'()*+,;=%-._~")
