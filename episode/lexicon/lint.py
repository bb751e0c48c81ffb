"""Checking vocabulary: what is wrong in a pack or in a person's own file, and where."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from pathlib import Path

from episode.errors import UnusableInput
from episode.lexicon.names import name_key
from episode.lexicon.packs import pack_file, pack_names, terms_of_file
from episode.lexicon.resources import vocab_root
from episode.models import Problem, Term


def lint(files: tuple[Path, ...] = ()) -> tuple[Problem, ...]:
    """Everything doubtful in ``files``, or in the built-in packs where none is named.

    In the packs everything but a note is an error, for nobody is there to judge it. In a person's file an
    error is what keeps a row from doing what it says: no term, a term twice, an unknown kind, years
    reversed, a cycle in ``broader``. What may be meant (a name that a built-in term has too, a source that
    no list knows) is a note. Of several files each is checked alone, with the packs behind it.

    Raises:
        UnusableInput: a file that cannot be read at all.
    """
    packs: list[Term] = []
    problems: list[Problem] = []
    for name in pack_names():
        terms, found = terms_of_file(pack_file(name), pack=name)
        packs += terms
        problems += _raised(found)
    if not files:
        return (*problems, *_structure(packs, packs, packed=True), *_sources(packs))
    problems = []
    for file in files:
        terms, found = terms_of_file(file)
        problems += _raised(found)
        problems += _structure(terms, packs, packed=False, where=str(file))
        problems += _taken(terms, packs, str(file))
    return tuple(problems)


def _raised(found: Iterable[Problem]) -> list[Problem]:
    """Reading leaves a doubtful cell out and goes on; to a check it is an error."""
    return [p.model_copy(update={"level": "error"}) if p.level == "warning" else p for p in found]


def _structure(terms: Sequence[Term], behind: Sequence[Term], *, packed: bool, where: str = "") -> list[Problem]:
    """Names that two terms claim, and hierarchies that lead nowhere or back to where they began."""
    problems = [*_clashes(terms, where)]
    labels = {name_key(term.term): term for term in [*behind, *terms]}
    also = {name_key(name): term for term in [*behind, *terms] for name in term.also}
    for term in terms:
        for name in _parents(term):
            above = name_key(name)
            if above in labels:
                continue
            hint = f" “{also[above].term}” has that name." if above in also else ""
            problems.append(
                Problem(
                    where=where or f"pack {term.pack}",
                    what=f"“{term.term}” stands below “{name}”, which is no term.{hint}",
                    remedy="Name a term's label under “broader”, or add a row for it.",
                    level="error" if packed else "warning",
                )
            )
    problems += [
        Problem(
            where=where or f"pack {cycle[0].pack}",
            what="“broader” runs in a circle: " + " → ".join(t.term for t in (*cycle, cycle[0])),
            remedy="Empty one of these cells.",
            level="error",
        )
        for cycle in _cycles(terms, labels)
    ]
    return problems


def _clashes(terms: Sequence[Term], where: str) -> list[Problem]:
    owners: dict[str, tuple[str, Term]] = {}
    problems: list[Problem] = []
    for column, names_of in (
        ("term", lambda t: (t.term,)),
        ("also", lambda t: t.also),
        ("heard_as", lambda t: t.heard_as),
    ):
        for term in terms:
            for name in names_of(term):
                key = name_key(name)
                if key not in owners:
                    owners[key] = (column, term)
                    continue
                first, owner = owners[key]
                if owner is term and (first == column or (first, column) == ("term", "also")):
                    continue  # another spelling of the same name
                other = f"pack {owner.pack}" if owner.pack != term.pack else "the same file"
                problems.append(
                    Problem(
                        where=where or f"pack {term.pack}",
                        what=f"“{name}” under “{column}” of “{term.term}” is taken: "
                        f"“{owner.term}” in {other} has it under “{first}”",
                        remedy="A name can lead to one term only. Delete it from one of them.",
                        level="error",
                    )
                )
    return problems


def _cycles(terms: Sequence[Term], labels: dict[str, Term]) -> list[list[Term]]:
    """Every circle once, beginning with the term that stands first in the file."""
    done: set[str] = set()
    cycles: list[list[Term]] = []
    for term in terms:
        path: list[str] = []
        waiting: list[tuple[int, str]] = [(0, name_key(term.term))]
        while waiting:
            depth, here = waiting.pop()
            done.update(path[depth:])
            del path[depth:]
            if here in path:
                cycles.append([labels[key] for key in path[path.index(here) :]])
            elif here in labels and here not in done:
                path.append(here)
                waiting += [(len(path), name_key(name)) for name in reversed(_parents(labels[here]))]
        done.update(path)
    return cycles


def _parents(term: Term) -> tuple[str, ...]:
    return (*([term.broader] if term.broader else []), *term.broader_more)


def _sources(terms: Iterable[Term]) -> list[Problem]:
    known = _source_keys()
    problems: list[Problem] = []
    for term in terms:
        if term.source and term.source in known:
            continue
        says = f"names the source “{term.source}”, which sources.json does not hold" if term.source else "has no source"
        problems.append(
            Problem(
                where=f"pack {term.pack}",
                what=f"“{term.term}” {says}",
                remedy="Use a key of sources/sources.json; “common-practice” where nothing was read.",
                level="error",
            )
        )
    return problems


def _source_keys() -> set[str]:
    path = vocab_root().joinpath("sources").joinpath("sources.json")
    try:
        return {str(item["id"]) for item in json.loads(path.read_text(encoding="utf-8"))}
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise UnusableInput(f"is no list of CSL-JSON items with ids ({error})", where=str(path)) from error


def _taken(terms: Iterable[Term], packs: Iterable[Term], where: str) -> list[Problem]:
    """Notes on names that a person's file takes from built-in terms: it may, but should know."""
    owner: dict[str, Term] = {}
    for term in packs:
        for name in (term.term, *term.also):
            owner.setdefault(name_key(name), term)
    problems = []
    for term in terms:
        for name in (term.term, *term.also):
            other = owner.get(name_key(name))
            if other is None:
                continue
            same = name_key(other.term) == name_key(term.term)
            if same and name_key(name) != name_key(term.term):
                continue
            problems.append(
                Problem(
                    where=where,
                    what=f"your row for “{term.term}” replaces the one in pack {other.pack}"
                    if same
                    else f"“{name}” now leads to your “{term.term}”, not to “{other.term}” in pack {other.pack}",
                    level="note",
                )
            )
    return problems
