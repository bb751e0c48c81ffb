"""Reading narrations with their claims, and counting what is found of them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from episode.models import Claim, Verdict
from tests.claims.saying import claims

DATED = {"date", "period"}


@dataclass
class Wanted:
    """A claim of the gold; ``first`` and ``last`` are years or ``None``."""

    kind: str
    first: int | None
    last: int | None
    verdict: str
    mark: str


@dataclass
class Result:
    """Counts, and a line for each thing that went wrong."""

    tally: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)


def narrated(path: Path, *, caption: bool) -> Result:
    """Count over every passage of the file."""
    result = Result()
    for term, lines in passages(path):
        spoken = [said.lower().rstrip(".?!").replace(",", "") if caption else said for said, _ in lines]
        made = claims(*spoken, term=term)
        for said, (_, gold) in zip(spoken, lines, strict=True):
            _count(result, said, gold, [c for c in made if c.quote.strip() == said])
        result.tally["made"] += len(made)
        for claim in made:
            if claim.quote.strip() not in spoken:
                result.wrong.append(f"runs over lines: {claim.quote!r}")
    return result


def passages(path: Path) -> list[tuple[str, list[tuple[str, list[Wanted]]]]]:
    """Each object in hand with its sentences, and the claims in each."""
    found: list[tuple[str, list[tuple[str, list[Wanted]]]]] = []
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("#") or not line.strip():
            continue
        if line.startswith("@"):
            found.append((line[1:].strip(), []))
            continue
        said, _, gold = line.partition("=>")
        found[-1][1].append((said.strip(), [_wanted(cell) for cell in gold.split("&") if cell.strip()]))
    return found


def _wanted(cell: str) -> Wanted:
    kind, first, last, verdict, *mark = cell.split()
    return Wanted(kind, *(None if y == "-" else int(y) for y in (first, last)), verdict, "".join(mark))


def _count(result: Result, said: str, gold: list[Wanted], made: list[Claim]) -> None:
    tally, left = result.tally, list(made)
    for wanted in gold:
        tally["gold"] += 1
        tally[wanted.mark] += 1
        kinds = DATED if wanted.kind in DATED else {wanted.kind}
        near = sorted(
            (c for c in left if c.kind in kinds),
            key=lambda c: ((c.from_, c.to) != (wanted.first, wanted.last), c.kind != wanted.kind),
        )
        if not near:
            result.wrong.append(f"missed {wanted.kind}: {said!r}")
            continue
        claim = near[0]
        left.remove(claim)
        _compare(result, said, wanted, claim)
    for claim in left:
        result.wrong.append(f"beyond the gold: {claim.kind} {claim.verdict.value}: {said!r}")
        tally["false"] += claim.verdict is Verdict.CONTRADICTED


def _compare(result: Result, said: str, wanted: Wanted, claim: Claim) -> None:
    tally = result.tally
    tally["found"] += 1
    if wanted.kind in DATED:
        tally["dated"] += 1
        exact = (claim.from_, claim.to) == (wanted.first, wanted.last)
        tally["exact"] += exact
        if not exact:
            result.wrong.append(f"years {claim.from_} to {claim.to}: {said!r}")
    if wanted.verdict != "?":
        tally["judged"] += 1
        tally["agreed"] += claim.verdict.value == wanted.verdict
        if claim.verdict.value != wanted.verdict:
            result.wrong.append(f"{claim.verdict.value}, not {wanted.verdict}: {said!r} ({claim.about}; {claim.note})")
    tally["caught"] += wanted.mark == "planted" and claim.verdict is Verdict.CONTRADICTED
    tally["left open"] += wanted.mark == "open" and claim.verdict is Verdict.UNREFERENCED
    if wanted.mark != "planted" and claim.verdict is Verdict.CONTRADICTED:
        tally["false"] += 1
        result.wrong.append(f"falsely contradicted: {said!r} ({claim.about}; {claim.note})")
