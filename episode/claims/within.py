"""What is said in one place of an episode against what is said in another."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence

from episode.claims.intervals import relation
from episode.claims.said import years
from episode.claims.statements import Statement
from episode.models import Claim, Verdict
from episode.record.load import name_key

_MOST = 3
_STARTS = re.compile(r"\b(?:found|establish|set up|start|open|began|begin|born|came to)\w*", re.IGNORECASE)
_ENDS = re.compile(r"\b(?:clos|went bust|out of business|died|dead|stopp|ended|finish)\w*", re.IGNORECASE)


def within(pairs: Sequence[tuple[Statement, Claim]]) -> tuple[Claim, ...]:
    """The claims, with a note on each of two that give one thing two dates which cannot both be so.

    Compared are dates of one patent, introduction, withdrawal, birth, death, founding or closing, and of the
    making of one find. Where the record holds both (a second patent), both may be so and nothing is said.
    """
    groups: defaultdict[tuple[object, ...], list[int]] = defaultdict(list)
    for number, (statement, claim) in enumerate(pairs):
        for key in _keys(statement, claim):
            groups[key].append(number)
    notes: defaultdict[int, list[str]] = defaultdict(list)
    for numbers in groups.values():
        for first in numbers:
            for second in numbers:
                if first != second and _exclude(pairs[first][1], pairs[second][1]):
                    note = _note(pairs[second][1])
                    if note not in notes[first]:
                        notes[first].append(note)
    return tuple(
        claim.model_copy(update={"note": "; ".join([n for n in (claim.note,) if n] + notes[number][:_MOST])})
        if notes[number]
        else claim
        for number, (_, claim) in enumerate(pairs)
    )


def _keys(statement: Statement, claim: Claim) -> list[tuple[object, ...]]:
    """What the date is of; none where that is not one thing."""
    if claim.kind not in {"date", "period"} or (claim.from_ is None and claim.to is None):
        return []
    if claim.aspect == "made":
        return [("made", claim.find)] if claim.find and claim.about else []
    subjects = [name_key(person) for person in statement.people] or [name_key(claim.about or "")]
    if claim.aspect == "life" and not statement.people:
        subjects = [name_key(statement.against.text)] if statement.against else []
    subjects = [subject for subject in subjects if subject]
    if claim.aspect in {"patent", "introduced", "withdrawn"}:
        return [(claim.aspect, name_key(claim.about), *subjects)] if claim.about else []
    if claim.aspect in {"life", "active"}:
        before = statement.scene.text[: statement.at]
        side = _side(before)
        return [(claim.aspect, side, subject) for subject in subjects] if side else []
    return []


def _side(before: str) -> str:
    """Whether a date ends or begins a life or a firm: the nearer of the two words before it."""
    starts = max((m.start() for m in _STARTS.finditer(before)), default=-1)
    ends = max((m.start() for m in _ENDS.finditer(before)), default=-1)
    return "" if starts == ends else "start" if starts > ends else "end"


def _exclude(first: Claim, second: Claim) -> bool:
    if first.verdict is Verdict.SUPPORTED and second.verdict is Verdict.SUPPORTED:
        return False
    if (first.clip, first.quote) == (second.clip, second.quote):
        return False
    return relation((first.from_, first.to), (second.from_, second.to)) == "apart"


def _note(other: Claim) -> str:
    whole = int(other.start)
    at = f"{other.clip} at {whole // 60}:{whole % 60:02d}"
    return f"elsewhere in the episode ({at}) it is {years(other.from_, other.to)}: “{other.quote}”"
