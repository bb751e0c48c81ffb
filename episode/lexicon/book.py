"""The lexicon itself: terms, the names that lead to them, and what is a kind of what."""

from __future__ import annotations

from collections.abc import Iterable

from episode.lexicon.names import name_key
from episode.models import How, Problem, Term


class Lexicon:
    """Terms and the names that lead to them.

    Every name leads to one term: to the term that bears it as its label, else to the one that lists it
    under ``also``, else under ``heard_as``; where two would claim it in the same way, to the earlier in
    order. Terms of the person's own files come first in that order and their names come before any
    built-in label.
    """

    def __init__(self, terms: Iterable[Term], problems: Iterable[Problem] = (), *, own: Iterable[Term] = ()) -> None:
        """``own`` are the person's terms, which claim all their names before ``terms`` claim any."""
        mine, others = list(own), list(terms)
        taken = {name_key(term.term) for term in mine}
        self.own: tuple[Term, ...] = tuple(mine)
        self.terms: tuple[Term, ...] = (*mine, *(term for term in others if name_key(term.term) not in taken))
        self.problems: tuple[Problem, ...] = tuple(problems)
        self._by_label = {name_key(term.term): term for term in reversed(self.terms)}
        self._names: dict[str, tuple[str, Term, How]] = {}
        self._claim(mine)
        self._claim(self.terms[len(mine) :])

    def get(self, term: str) -> Term | None:
        """The term with this label, or ``None``; other names do not count."""
        return self._by_label.get(name_key(term))

    def named(self, name: str) -> Term | None:
        """The term that this name leads to, whichever of its names it is, or ``None``."""
        found = self._names.get(name_key(name))
        return found[1] if found else None

    def names(self) -> list[tuple[str, Term, How]]:
        """Every name with its term and how it names it, in a fixed order; each name once."""
        return list(self._names.values())

    def everyday(self, name: str) -> bool:
        """Whether this name is marked as a common word, so that only the sense tells a mention from talk."""
        found = self._names.get(name_key(name))
        if found is None:
            return False
        key, term = name_key(name), found[1]
        if key == name_key(term.term):
            return term.everyday
        return any(name_key(word) == key for word in term.everyday_names)

    def broader(self, term: Term) -> list[Term]:
        """The chain upward from a term, nearest first; it ends where a name is unknown or comes again."""
        chain: list[Term] = []
        seen = {name_key(term.term)}
        here = term
        while here.broader:
            above = self.get(here.broader) or self.named(here.broader)
            if above is None or name_key(above.term) in seen:
                break
            chain.append(above)
            seen.add(name_key(above.term))
            here = above
        return chain

    def is_a(self, term: Term, other: Term) -> bool:
        """Whether ``term`` is ``other`` or stands below it, on whichever line upward."""
        wanted = name_key(other.term)
        seen: set[str] = set()
        waiting = [term]
        while waiting:
            here = waiting.pop()
            if name_key(here.term) == wanted:
                return True
            if name_key(here.term) not in seen:
                seen.add(name_key(here.term))
                waiting += self.above(here)
        return False

    def above(self, term: Term) -> list[Term]:
        """Every known term that a term stands directly below, the main one first."""
        names = [name for name in (term.broader, *term.broader_more) if name]
        found = (self.get(name) or self.named(name) for name in names)
        return list(dict.fromkeys(above for above in found if above is not None and above.term != term.term))

    def _claim(self, terms: Iterable[Term]) -> None:
        group = list(terms)
        for how in (How.WRITTEN, How.OTHER_NAME, How.MISHEARING):
            for term in group:
                for name in _names_of(term, how):
                    key = name_key(name)
                    if key:
                        self._names.setdefault(key, (name, term, how))


def _names_of(term: Term, how: How) -> tuple[str, ...]:
    if how is How.WRITTEN:
        return (term.term,)
    return term.also if how is How.OTHER_NAME else term.heard_as
