"""Which decisions are in force once undoing, and undoing of undoing, is counted."""

from __future__ import annotations

from collections.abc import Sequence

from episode.models import Decision, Problem


def current(decisions: Sequence[Decision], *, undos: bool = False) -> tuple[Decision, ...]:
    """The decisions in force, in the order they were made; ``undo`` lines are among them only where asked for.

    An ``undo`` takes back the line before it whose ``id`` is its value, unless it is itself taken back by a
    later one.
    """
    return tuple(d for d in _standing(decisions) if undos or d.action != "undo")


def next_undo(decisions: Sequence[Decision]) -> Decision | None:
    """The decision that undoing once more would take back: the last in force."""
    standing = current(decisions)
    return standing[-1] if standing else None


def next_redo(decisions: Sequence[Decision]) -> Decision | None:
    """The ``undo`` line to take back in order to do again what was undone last; none once something new was decided."""
    actions = {d.id: d.action for d in decisions}
    for decision in reversed(_standing(decisions)):
        if decision.action != "undo":
            return None
        if actions.get(str(decision.value)) != "undo":
            return decision
    return None


def lost_undos(decisions: Sequence[Decision]) -> tuple[Problem, ...]:
    """Those ``undo`` lines that name no line before them."""
    before: set[str] = set()
    problems = []
    for decision in decisions:
        if decision.action == "undo" and str(decision.value) not in before:
            problems.append(
                Problem(
                    where=f"decisions.jsonl, line {decision.line}",
                    what=f"takes back {str(decision.value)[:40]!r}, and no line before it that can be read has that id",
                    remedy="Nothing was lost: it changes nothing.",
                    level="note",
                )
            )
        before.add(decision.id)
    return tuple(problems)


def _standing(decisions: Sequence[Decision]) -> list[Decision]:
    undone: set[str] = set()
    standing: list[Decision] = []
    for decision in reversed(decisions):
        if decision.id and decision.id in undone:
            continue
        standing.append(decision)
        if decision.action == "undo":
            undone.add(str(decision.value))
    return standing[::-1]
