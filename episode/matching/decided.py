"""What a person decided about moments, laid over what was computed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from episode.models import Decision, LogEntry, Moment, Problem, Stance

NEAR_S = 3.0
_APPLIED = frozenset({"pair", "reject", "stance"})


@dataclass
class Decided:
    """``moments`` with their decided stances; ``pairs`` from moment index to row index, ``None`` for no row."""

    moments: list[Moment]
    pairs: dict[int, int | None] = field(default_factory=dict)
    rejected: set[int] = field(default_factory=set)
    problems: list[Problem] = field(default_factory=list)


def apply_decisions(moments: Sequence[Moment], rows: Sequence[LogEntry], decisions: Sequence[Decision]) -> Decided:
    """Find each decision's moment by clip and second or words; a later decision of the same kind wins.

    Decisions whose moment or find is no longer there are listed as problems; other rooms' are left alone.
    """
    result = Decided(list(moments))
    for decision in decisions:
        if decision.action not in _APPLIED:
            continue
        index = _subject(moments, decision)
        if index is None:
            result.problems.append(_stale(decision, "there is no such moment any more"))
        elif decision.action == "pair":
            _pair(result, index, rows, decision)
        elif decision.action == "reject":
            result.rejected.add(index)
        else:
            _stance(result, index, decision)
    for index in result.rejected:
        result.moments[index] = result.moments[index].model_copy(update={"stance": Stance.ASIDE})
        result.pairs.pop(index, None)
    return result


def _subject(moments: Sequence[Moment], decision: Decision) -> int | None:
    best: tuple[float, float, int] | None = None
    for index, moment in enumerate(moments):
        if decision.clip is not None and moment.clip != decision.clip:
            continue
        off = float("inf")
        if decision.start is not None and decision.clip is not None:
            off = min(abs(moment.start - decision.start), *(abs(m.start - decision.start) for m in moment.mentions))
        quoted = bool(decision.quote) and any(
            _same_words(decision.quote or "", m.quote, m.heard) for m in moment.mentions
        )
        if off > NEAR_S and not quoted:
            continue
        other_term = decision.term is not None and decision.term not in {
            moment.term,
            *(m.term for m in moment.mentions),
        }
        key = (float(other_term), off if off <= NEAR_S else NEAR_S + 1.0, index)
        if best is None or key < best:
            best = key
    return best[2] if best else None


def _same_words(words: str, quote: str, heard: str) -> bool:
    plain = " ".join(words.lower().split())
    return plain == " ".join((quote or heard).lower().split())


def _pair(result: Decided, index: int, rows: Sequence[LogEntry], decision: Decision) -> None:
    value = decision.value
    if value is None or value is False or value == "":
        result.pairs[index] = None
        result.rejected.discard(index)
        return
    wanted = str(value).strip().lower()
    row = next((j for j, entry in enumerate(rows) if entry.find.strip().lower() == wanted), None)
    if row is None:
        result.problems.append(_stale(decision, f"the log has no find {value}"))
        return
    result.pairs[index] = row
    result.rejected.discard(index)


def _stance(result: Decided, index: int, decision: Decision) -> None:
    try:
        stance = Stance(str(decision.value))
    except ValueError:
        result.problems.append(_stale(decision, f"{decision.value!r} is no stance"))
        return
    result.moments[index] = result.moments[index].model_copy(update={"stance": stance})
    result.rejected.discard(index)


def _stale(decision: Decision, why: str) -> Problem:
    where = f"decisions.jsonl, line {decision.line}" if decision.line else "decisions.jsonl"
    about = ", ".join(
        part
        for part in (
            decision.term or "",
            decision.clip or "",
            f"{decision.start:.1f} s" if decision.start is not None else "",
            f"“{decision.quote}”" if decision.quote and not decision.term else "",
        )
        if part
    )
    return Problem(
        where=where,
        what=f"the decision “{decision.action}”{' about ' + about if about else ''} does not apply: {why}",
        remedy="Decide it again in the review, or leave it: it changes nothing.",
    )
