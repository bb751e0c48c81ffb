"""How terms stand to each other, whichever way they are named."""

from __future__ import annotations

import re
from typing import Protocol

from episode.models import Term

_WORD = re.compile(r"[^\W_]+(?:'[^\W_]+)?")
_LONGEST_NAME = 6
_IRREGULAR = {"knives": "knife", "handles": "handle", "leaves": "leaf"}


class Vocabulary(Protocol):
    """What this room needs of a lexicon."""

    def get(self, term: str) -> Term | None:
        """The term with this label."""

    def named(self, name: str) -> Term | None:
        """The term any of whose names this is."""

    def broader(self, term: Term) -> list[Term]:
        """The chain upward, nearest first."""


class Kinship:
    """Relations between terms by label, remembered, and safe for labels that the lexicon does not hold."""

    def __init__(self, lexicon: Vocabulary) -> None:
        self._lexicon = lexicon
        self._chains: dict[str, tuple[str, ...]] = {}
        self._nearness: dict[tuple[str, str], float] = {}
        self._read: dict[str, tuple[str, ...]] = {}

    def term(self, label: str) -> Term | None:
        """The lexicon's row for a label, or for a name that leads to one."""
        return self._lexicon.get(label) or self._lexicon.named(label)

    def chain(self, label: str) -> tuple[str, ...]:
        """The label itself and everything above it, nearest first."""
        known = self._chains.get(label)
        if known is None:
            row = self.term(label)
            above = tuple(t.term for t in self._lexicon.broader(row)) if row else ()
            known = self._chains[label] = (label, *(name for name in above if name != label))
        return known

    def depth(self, label: str) -> int:
        """How many terms stand above it: the more, the more specific."""
        return len(self.chain(label)) - 1

    def is_a(self, label: str, other: str) -> bool:
        """Whether one is the other or a kind of it."""
        return other in self.chain(label)

    def related(self, one: str, other: str) -> bool:
        """Whether one names the other more broadly or more narrowly."""
        return self.is_a(one, other) or self.is_a(other, one)

    def siblings(self, one: str, other: str) -> bool:
        """Whether both stand directly below one term."""
        a, b = self.chain(one), self.chain(other)
        return len(a) > 1 and len(b) > 1 and a[1] == b[1]

    def nearness(self, one: str, other: str) -> float:
        """1 for the same term, less for each step up or down, little for siblings, 0 for strangers."""
        key = (one, other) if one <= other else (other, one)
        known = self._nearness.get(key)
        if known is None:
            known = self._nearness[key] = self._measure(*key)
        return known

    def read(self, text: str) -> tuple[str, ...]:
        """The terms named in a few written words, longest names first, singular or plural; in order of place."""
        known = self._read.get(text)
        if known is None:
            known = self._read[text] = tuple(self._scan(text))
        return known

    def _measure(self, one: str, other: str) -> float:
        if one == other:
            return 1.0
        a, b = self.chain(one), self.chain(other)
        for upper, lower in ((one, b), (other, a)):
            if upper in lower:
                return max(0.45, 0.95 - 0.15 * lower.index(upper))
        shared = next((name for name in a if name in b), None)
        if shared is None:
            return 0.0
        return 0.3 if a.index(shared) + b.index(shared) == 2 else 0.15

    def _scan(self, text: str) -> list[str]:
        whole = self._named(text)
        if whole:
            return [whole]
        found: list[str] = []
        for part in re.split(r"[;/()\[\]+&]|\band\b|\bwith\b", text):
            pieces = [piece.strip() for piece in part.split(",") if piece.strip()]
            turned = " ".join(reversed(pieces)) if len(pieces) == 2 else ""
            name = self._named(turned) if turned else None
            if name:
                found.append(name)
                continue
            for piece in pieces:
                found.extend(self._windows(_WORD.findall(piece)))
        return list(dict.fromkeys(found))

    def _windows(self, words: list[str]) -> list[str]:
        found, at = [], 0
        while at < len(words):
            for length in range(min(_LONGEST_NAME, len(words) - at), 0, -1):
                name = self._named(" ".join(words[at : at + length]))
                if name:
                    found.append(name)
                    at += length
                    break
            else:
                at += 1
        return found

    def _named(self, name: str) -> str | None:
        name = name.strip(" .,:;?!'\"")
        if not name:
            return None
        for form in dict.fromkeys((name, *singulars(name))):
            term = self._lexicon.named(form)
            if term:
                return term.term
        return None


def singulars(name: str) -> tuple[str, ...]:
    """What a plural name may be the plural of; empty where it does not look like one."""
    low = name.lower()
    head, _, last = low.rpartition(" ")
    forms = []
    if last in _IRREGULAR:
        forms.append(_IRREGULAR[last])
    if last.endswith("ies") and len(last) > 4:
        forms.append(last[:-3] + "y")
    if last.endswith("es") and len(last) > 3:
        forms.append(last[:-2])
    if last.endswith("s") and not last.endswith("ss") and len(last) > 2:
        forms.append(last[:-1])
    return tuple(f"{head} {form}".strip() for form in forms)
