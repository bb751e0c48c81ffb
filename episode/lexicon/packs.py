"""The lexicon of a day: built-in packs, the person's own files, and what was added in review."""

from __future__ import annotations

from collections.abc import Iterable
from importlib.resources.abc import Traversable
from pathlib import Path

from episode.errors import UnusableInput
from episode.lexicon.book import Lexicon
from episode.lexicon.names import name_key
from episode.lexicon.resources import vocab_root
from episode.lexicon.table import read_table
from episode.lexicon.terms import terms_of
from episode.models import Problem, Term

SKOS_ENDINGS = frozenset({".rdf", ".xml", ".owl", ".skos", ".ttl", ".n3", ".nt", ".jsonld", ".json"})


def load_lexicon(
    packs: tuple[str, ...] | None = None, files: tuple[Path, ...] = (), extra: tuple[Term, ...] = ()
) -> Lexicon:
    """Read the vocabulary.

    Args:
        packs: built-in packs by name; ``None`` means all, an empty tuple none.
        files: the person's own files (CSV, XLSX, ODS, or SKOS as RDF/XML, Turtle, JSON-LD). A row of
            theirs replaces a built-in row of the same term, and a name that they give belongs to their
            term; of two files the later wins.
        extra: terms added since, as by ``with_terms``.

    Raises:
        UnusableInput: an unknown pack, or a file that cannot be used.
    """
    problems: list[Problem] = []
    built_in = _built_in(packs, problems)
    own: list[Term] = []
    for file in files:
        terms, found = terms_of_file(file)
        problems += [*found, *_replaced(terms, [*built_in, *own], str(file))]
        mine = {name_key(term.term) for term in terms}
        own = [*terms, *(term for term in own if name_key(term.term) not in mine)]
    return with_terms(Lexicon(built_in, problems, own=own), extra)


def with_terms(lexicon: Lexicon, extra: tuple[Term, ...]) -> Lexicon:
    """The lexicon with more terms.

    They never displace anything: the names of one that is known already are added to it, and a name that is taken
    stays where it is.
    """
    if not extra:
        return lexicon
    own, others = _with_extra(list(lexicon.own), list(lexicon.terms[len(lexicon.own) :]), extra)
    return Lexicon(others, lexicon.problems, own=own)


def pack_names() -> tuple[str, ...]:
    """The names of the built-in packs, in alphabetical order."""
    return tuple(sorted(_pack_files()))


def pack_file(name: str) -> Traversable:
    """The file of a built-in pack.

    Raises:
        KeyError: there is no such pack.
    """
    return _pack_files()[name]


def terms_of_file(file: Traversable, pack: str | None = None) -> tuple[list[Term], list[Problem]]:
    """The terms of one vocabulary file and what was doubtful in it (see ``load_lexicon``)."""
    name = pack if pack is not None else Path(file.name).stem
    if isinstance(file, Path) and file.suffix.lower() in SKOS_ENDINGS:
        from episode.lexicon.skos import terms_of_skos

        return terms_of_skos(file)
    return terms_of(read_table(file), name)


def wanted_packs(packs: tuple[str, ...] | None) -> list[str]:
    """The names of the packs that are asked for; ``None`` is all of them.

    Raises:
        UnusableInput: there is no such pack.
    """
    known = _pack_files()
    if packs is None:
        return sorted(known)
    wanted = list(dict.fromkeys(name_key(name).replace(" ", "-") for name in packs))
    if wanted == ["none"]:
        return []
    unknown = [name for name in wanted if name not in known]
    if unknown:
        raise UnusableInput(
            f"there is no pack named {', '.join(unknown)}",
            where="vocabulary packs",
            remedy=f"The packs are: {', '.join(sorted(known))}; or “none”.",
        )
    return wanted


def _pack_files() -> dict[str, Traversable]:
    folder = vocab_root().joinpath("terms")
    return {entry.name.removesuffix(".csv"): entry for entry in folder.iterdir() if entry.name.endswith(".csv")}


def _built_in(packs: tuple[str, ...] | None, problems: list[Problem]) -> list[Term]:
    known = _pack_files()
    terms: list[Term] = []
    for name in wanted_packs(packs):
        found, doubts = terms_of_file(known[name], pack=name)
        terms += found
        problems += doubts
    return terms


def _replaced(terms: Iterable[Term], earlier: Iterable[Term], file: str) -> list[Problem]:
    """A note for each earlier row whose other names no longer count."""
    before: dict[str, Term] = {name_key(term.term): term for term in earlier}
    notes = []
    for term in terms:
        old = before.get(name_key(term.term))
        if old is None:
            continue
        kept = {name_key(name) for name in (term.term, *term.also, *term.heard_as)}
        lost = [name for name in (*old.also, *old.heard_as) if name_key(name) not in kept]
        if lost:
            notes.append(
                Problem(
                    where=file,
                    what=f"your row for “{term.term}” replaces the one in “{old.pack}”, "
                    f"so these names no longer count: {', '.join(lost)}",
                    remedy="Add those you want to “also” in your row.",
                    level="note",
                )
            )
    return notes


def _with_extra(own: list[Term], built_in: list[Term], extra: tuple[Term, ...]) -> tuple[list[Term], list[Term]]:
    """Both lists with the names of ``extra`` added to the terms that are known, and the new ones at the end."""
    added: dict[str, Term] = {}
    for term in extra:
        key = name_key(term.term)
        added[key] = _joined(added[key], term) if key in added else term
    fresh = dict(added)
    lists = []
    for terms in (own, built_in):
        lists.append(
            [_joined(term, added[name_key(term.term)]) if name_key(term.term) in added else term for term in terms]
        )
        for term in terms:
            fresh.pop(name_key(term.term), None)
    return lists[0], [*lists[1], *fresh.values()]


def _joined(term: Term, more: Term) -> Term:
    also = tuple(dict.fromkeys((*term.also, *more.also)))
    heard_as = tuple(dict.fromkeys((*term.heard_as, *more.heard_as)))
    return term.model_copy(update={"also": also, "heard_as": heard_as})
