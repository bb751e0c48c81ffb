"""The person's own references, matched to claims by id or by words."""

from __future__ import annotations

from collections.abc import Sequence

from rapidfuzz import fuzz
from rapidfuzz.utils import default_process

from episode.claims.statements import Statement
from episode.models import Reference

ENOUGH = 90.0
"""Token agreement from which a reference's words are taken for the claim's."""
SHORTEST = 3


def supplied(claim_id: str, statement: Statement, references: Sequence[Reference]) -> Reference | None:
    """The reference whose ``claim`` is this claim's id, or whose words are all said in it.

    A row of words matches the claim's own words first, then the whole sentence; the longest such row wins.
    """
    for reference in references:
        if reference.claim.strip() == claim_id:
            return reference
    best: tuple[float, int, Reference] | None = None
    quote = default_process(statement.scene.text)
    words = default_process(statement.words)
    about = default_process(f"{statement.about or ''} {statement.value}")
    for reference in references:
        wanted = default_process(reference.claim)
        if len(wanted) < SHORTEST or not reference.reference.strip():
            continue
        score = max(_held(wanted, words, about), _sentence(wanted, quote), _name(wanted, words, statement))
        if score >= ENOUGH and (best is None or (score, len(wanted)) > best[:2]):
            best = (score, len(wanted), reference)
    return best[2] if best else None


def _held(wanted: str, words: str, about: str) -> float:
    """How far the row and the claim's own words are the same words, the subject counted in."""
    return max(fuzz.token_sort_ratio(wanted, words), fuzz.token_sort_ratio(wanted, f"{about} {words}".strip()))


def _sentence(wanted: str, quote: str) -> float:
    """A row that quotes the sentence, or nearly all of it, speaks for every claim in it."""
    if len(wanted) < 0.6 * len(quote):
        return 0.0
    return fuzz.token_set_ratio(wanted, quote)


def _name(wanted: str, words: str, statement: Statement) -> float:
    """A row that is a name of two words or more speaks for the maker or person of that name."""
    if statement.kind not in {"maker", "person"} or len(wanted.split()) < 2:
        return 0.0
    return 100.0 if set(wanted.split()) <= set(words.split()) else 0.0
