"""What the person decided about claims and promises, put over what was found."""

from __future__ import annotations

from collections.abc import Callable
from difflib import SequenceMatcher
from typing import TypeVar

from episode.models import Claim, Correction, Decision, Problem, Promise

T = TypeVar("T", Claim, Promise)

NEAR_S = 3.0
"""A decision still means a claim whose place moved by this much."""
SAME_WORDS = 0.8


def decided(
    claims: tuple[Claim, ...], promises: tuple[Promise, ...], decisions: tuple[Decision, ...]
) -> tuple[tuple[Claim, ...], tuple[Promise, ...], tuple[Problem, ...]]:
    """``claims`` and ``promises`` with decisions replayed in order: ``reference``, ``strike``, ``correct``, ``kept``.

    A decision finds its subject by content: the same clip within 3 s, or nearly the same words. One that fits
    nothing any more changes nothing and is reported with its line.
    """
    claims_now, promises_now = list(claims), list(promises)
    problems: list[Problem] = []
    for decision in decisions:
        if decision.action in {"reference", "strike", "correct"}:
            fits = _change(claims_now, decision, _changed_claim)
        elif decision.action == "kept":
            fits = _change(promises_now, decision, _changed_promise)
        else:
            continue  # about moments: the matching room's
        if not fits:
            problems.append(_stale(decision))
    return tuple(claims_now), tuple(promises_now), tuple(problems)


def corrections(decisions: tuple[Decision, ...]) -> tuple[Correction, ...]:
    """The corrections that stand: the last word on each statement, in the order they were first made.

    They stand whatever the recogniser hears today, since what was published does not change with it.
    """
    standing: dict[tuple[str, str], Correction] = {}
    for decision in decisions:
        if decision.action != "correct" or not decision.quote:
            continue
        key = (decision.clip or "", decision.quote.casefold())
        if isinstance(decision.value, str) and decision.value.strip():
            standing[key] = Correction(
                clip=decision.clip or "",
                start=max(0.0, decision.start or 0.0),
                quote=decision.quote,
                text=decision.value.strip(),
                reference=decision.reference or "",
            )
        else:
            standing.pop(key, None)
    return tuple(standing.values())


def _change(found: list[T], decision: Decision, change: Callable[[T, Decision], T]) -> bool:
    fits = False
    for index, item in enumerate(found):
        if _is_about(decision, item):
            found[index] = change(item, decision)
            fits = True
    return fits


def _is_about(decision: Decision, item: Claim | Promise) -> bool:
    if decision.quote:
        same = SequenceMatcher(None, decision.quote.casefold(), item.quote.casefold()).ratio() >= SAME_WORDS
        return same and decision.clip in {None, item.clip}
    near = decision.start is not None and abs(item.start - decision.start) <= NEAR_S
    return near and decision.clip == item.clip


def _changed_claim(claim: Claim, decision: Decision) -> Claim:
    if decision.action == "correct":
        # Put right elsewhere in the description; as it was said it stands nowhere any more.
        note = f"corrected: {decision.value}" if decision.value else claim.note
        return claim.model_copy(update={"struck": bool(decision.value), "note": note})
    if decision.action == "strike":
        return claim.model_copy(update={"struck": decision.value is not False})
    return claim.model_copy(update={"reference": str(decision.value) if decision.value else None})


def _changed_promise(promise: Promise, decision: Decision) -> Promise:
    if decision.value in {None, False, ""}:
        return promise.model_copy(update={"kept": False, "by": None})
    by = decision.value if isinstance(decision.value, str) else f"decided, line {decision.line}"
    return promise.model_copy(update={"kept": True, "by": by})


def _stale(decision: Decision) -> Problem:
    return Problem(
        where=f"decisions.jsonl, line {decision.line}",
        what=f"`{decision.action}` no longer applies: nothing like {decision.quote or decision.term!r} was found",
        remedy="Nothing was lost; decide again if it still matters.",
        level="note",
    )
