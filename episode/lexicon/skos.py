"""SKOS thesauri in and out (W3C Recommendation, 18 August 2009).

prefLabel, altLabel, hiddenLabel, broader and scopeNote are the columns ``term``, ``also``, ``heard_as``,
``broader`` and ``note``; a concept's own address is ``address``, its exactMatch and closeMatch are ``exact`` and
``close``, and the first of all these is ``match``.
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
from episode.sheets import LONGEST_CELL, safe_cell
from episode.storage import write_bytes, write_text

if TYPE_CHECKING:
    from rdflib import Graph
    from rdflib.term import Node

LARGEST_FILE = 20 * 1024 * 1024
"""About a quarter of a million triples, which take a minute or two."""
DEEPEST = 100
"""Elements in elements; thesauri have some six."""
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
        writer.writerow([safe_cell(cell) for cell in _row(term)])
    write_text(to, sheet.getvalue())
    return len(terms), tuple(problems)


def export_skos(lexicon: Lexicon, to: Path) -> None:
    """Write a lexicon as a SKOS concept scheme, in a fixed order: RDF/XML, Turtle, N-Triples or JSON-LD by the ending.

    A term that came from a thesaurus keeps its address there.

    Raises:
        UnusableInput: an ending of no such file.
        CannotWrite: ``to`` cannot be written.
    """
    form = _form(to)
    write_bytes(to, _serialised(_graph_of(lexicon), form))


def _form(file: Path) -> str:
    form = FORMATS.get(file.suffix.lower())
    if form is None:
        raise UnusableInput(
            f"“{file.suffix or 'no ending'}” is no ending of a SKOS file",
            where=str(file),
            remedy=f"Known endings: {', '.join(FORMATS)}.",
        )
    return form


def _graph_of(lexicon: Lexicon) -> Graph:
    from rdflib import RDF, SKOS, Graph, Literal, URIRef
    from rdflib.namespace import DCTERMS

    graph = Graph()
    graph.bind("skos", SKOS)
    graph.bind("dcterms", DCTERMS)
    scheme = URIRef(BASE + "vocabulary")
    graph.add((scheme, RDF.type, SKOS.ConceptScheme))
    graph.add((scheme, DCTERMS.title, Literal("Trade vocabulary of finds", lang="en")))
    for term in lexicon.terms:
        concept = URIRef(_safe(term.address) if term.address else _address(term))
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
        for address in term.exact:
            graph.add((concept, SKOS.exactMatch, URIRef(_safe(address))))
        close = term.close
        if term.match and term.match not in (term.address, *term.exact, *close):
            close = (term.match, *close)
        for address in close:
            graph.add((concept, SKOS.closeMatch, URIRef(_safe(address))))
        above = lexicon.above(term)
        if not above:
            graph.add((concept, SKOS.topConceptOf, scheme))
        for wider in above:
            graph.add((concept, SKOS.broader, URIRef(_safe(wider.address) if wider.address else _address(wider))))
    return graph


def _serialised(graph: Graph, form: str) -> bytes:
    """The graph as text whose order is fixed by its content."""
    if form == "turtle":
        return graph.serialize(format=form).encode("utf-8")  # sorted by rdflib
    if form == "nt":
        return (
            "".join(sorted(graph.serialize(format=form, encoding="utf-8").decode("utf-8").splitlines(keepends=True)))
            .strip()
            .encode("utf-8")
            + b"\n"
        )
    if form == "json-ld":
        import json

        content = json.loads(graph.serialize(format=form, auto_compact=True))
        return (json.dumps(_ordered(content), ensure_ascii=False, indent=1) + "\n").encode("utf-8")
    return _rdf_xml(graph)


def _rdf_xml(graph: Graph) -> bytes:
    """RDF/XML, which rdflib writes in the order in which a graph gives its triples."""
    from collections.abc import Generator

    from rdflib import Graph

    class Sorted(Graph):
        def subjects(self, *args: Any, **kwargs: Any) -> Generator[Node, None, None]:
            yield from sorted(set(super().subjects(*args, **kwargs)), key=str)

        def predicate_objects(self, *args: Any, **kwargs: Any) -> Generator[tuple[Node, Node], None, None]:
            yield from sorted(super().predicate_objects(*args, **kwargs), key=str)

    tidy = Sorted()
    for prefix, space in graph.namespaces():
        tidy.bind(prefix, space)
    tidy += graph
    return tidy.serialize(format="xml", encoding="utf-8")


def _ordered(content: Any) -> Any:
    if isinstance(content, dict):
        return {key: _ordered(content[key]) for key in sorted(content)}
    if isinstance(content, list):
        return sorted((_ordered(item) for item in content), key=repr)
    return content


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
    problems += _left_out(graph, file, language)
    terms = [_term(graph, concept, labels, language, file.stem) for concept in labels]
    return sorted(terms, key=lambda t: (name_key(t.term), t.term)), problems


def _graph(file: Path) -> Graph:
    """The file as a graph, read without reaching for anything outside it."""
    import logging

    from rdflib import Graph

    form = _form(file)
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise UnusableInput(
                f"is larger than {LARGEST_FILE // 1024**2} MB",
                where=str(file),
                remedy="Export the part of the thesaurus that is about finds.",
            )
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
    if form == "xml" and _too_deep(data):
        raise UnusableInput(
            f"nests more than {DEEPEST} elements in each other", where=str(file), remedy="Export the thesaurus again."
        )
    if form == "json-ld":
        import json

        try:
            outside = _outside_context(json.loads(data))
        except (ValueError, RecursionError) as error:
            raise UnusableInput(
                f"is no JSON that can be read ({type(error).__name__})",
                where=str(file),
                remedy="Export the thesaurus again, or as Turtle.",
            ) from error
        if outside:
            raise UnusableInput(
                "names a context by its address, which is not fetched",
                where=str(file),
                remedy="Write the context into the file, or save the thesaurus as Turtle.",
            )


def _too_deep(data: bytes) -> bool:
    """Whether XML is nested absurdly; what else is wrong with it is the parser's to say."""
    from xml.parsers import expat  # no document type comes this far, so it has no entity to expand

    depth = 0

    def begin(*_: object) -> None:
        nonlocal depth
        depth += 1
        if depth > DEEPEST:
            raise _Deep

    def end(_: object) -> None:
        nonlocal depth
        depth -= 1

    parser = expat.ParserCreate()
    parser.StartElementHandler = begin
    parser.EndElementHandler = end
    try:
        parser.Parse(data, True)
    except _Deep:
        return True
    except (expat.ExpatError, ValueError, LookupError):
        return False
    return False


class _Deep(Exception):
    pass


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


def _term(graph: Graph, concept: Node, labels: dict[Node, str], language: str, pack: str) -> Term:
    from rdflib import SKOS
    from rdflib.namespace import DCTERMS

    label = labels[concept]
    also = [_name(n) for n in _texts(graph, concept, SKOS.altLabel, language) if n != label]
    above = sorted({labels[n] for n in graph.objects(concept, SKOS.broader) if n in labels and n != concept})
    above += sorted({labels[n] for n in graph.subjects(SKOS.narrower, concept) if n in labels and n != concept})
    above = [_name(name) for name in dict.fromkeys(above)]
    notes = _texts(graph, concept, SKOS.scopeNote, language) or _texts(graph, concept, SKOS.definition, language)
    exact = tuple(sorted({str(m) for m in graph.objects(concept, SKOS.exactMatch)}))
    close = tuple(sorted({str(m) for m in graph.objects(concept, SKOS.closeMatch)}))
    kinds = [str(v) for v in graph.objects(concept, DCTERMS.type)]
    own = str(concept) if str(concept).startswith("http") else None
    return Term(
        term=_name(label),
        kind=next((Kind(k) for k in sorted(kinds) if k in set(Kind)), Kind.OBJECT),
        also=tuple(dict.fromkeys(also)),
        heard_as=tuple(_name(n) for n in _texts(graph, concept, SKOS.hiddenLabel, language)),
        broader=above[0] if above else None,
        broader_more=tuple(above[1:]),
        source=next((str(v) for v in sorted(graph.objects(concept, DCTERMS.source), key=str)), None)
        or _scheme(graph, concept),
        note=" ".join(notes)[:LONGEST_CELL] or None,
        match=next(iter((*exact, *close, *([own] if own else []))), None),
        address=own,
        exact=exact,
        close=close,
        pack=pack,
    )


def _scheme(graph: Graph, concept: Node) -> str | None:
    """The title of the thesaurus that the concept stands in."""
    from rdflib import SKOS
    from rdflib.namespace import DC, DCTERMS

    schemes = [*graph.objects(concept, SKOS.inScheme), *graph.objects(concept, SKOS.topConceptOf)]
    titles = sorted({str(t) for s in schemes for p in (DCTERMS.title, DC.title) for t in graph.objects(s, p)})
    return " ".join(titles[0].split()) if titles and not str(schemes[0]).startswith(BASE) else None


def _left_out(graph: Graph, file: Path, language: str) -> list[Problem]:
    """What a vocabulary file has no column for, and whose thesaurus it is."""
    from rdflib import SKOS, URIRef
    from rdflib.namespace import DCTERMS

    found: list[Problem] = []
    related = sum(1 for _ in graph.subject_objects(SKOS.related))
    if related:
        found.append(
            Problem(where=str(file), what=f"{related} relations between concepts (related) were not kept", level="note")
        )
    tongues = {
        getattr(o, "language", None) or language
        for p in (SKOS.prefLabel, SKOS.altLabel)
        for o in graph.objects(None, p)
    }
    others = sorted(tongue for tongue in tongues if tongue.split("-")[0] != language)
    if others:
        found.append(
            Problem(
                where=str(file), what=f"labels in other languages were not kept ({', '.join(others)})", level="note"
            )
        )
    licences = [DCTERMS.license, DCTERMS.rights, URIRef("http://creativecommons.org/ns#license")]
    terms = sorted({str(o) for p in licences for o in graph.objects(None, p)})
    if terms:
        found.append(
            Problem(
                where=str(file),
                what=f"it is published under {', '.join(terms[:3])}",
                remedy="Name its publisher when you pass the terms on.",
                level="note",
            )
        )
    return found


def _name(name: str) -> str:
    """A name that can stand in a cell where semicolons separate names."""
    return re.sub(r"\s*;\s*", ", ", name)


def _row(term: Term) -> list[str]:
    return [
        term.term, term.kind.value, "; ".join(term.also), "; ".join(term.heard_as),
        "; ".join([*([term.broader] if term.broader else []), *term.broader_more]),
        term.material or "", "" if term.from_ is None else str(term.from_), "" if term.to is None else str(term.to),
        term.source or "", term.note or "", term.match or "",
        "; ".join([*(["yes"] if term.everyday else []), *term.everyday_names]),
        term.address or "", "; ".join(map(_cell, term.exact)), "; ".join(map(_cell, term.close)),
    ]  # fmt: skip


def _cell(address: str) -> str:
    return address.replace(";", "%3B")


def _address(term: Term) -> str:
    return BASE + "term:" + quote(name_key(term.term).replace(" ", "-"), safe="-")


def _safe(address: str) -> str:
    return quote(address, safe=":/?#[]@!$&'()*+,;=%-._~")
