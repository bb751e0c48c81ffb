"""What the person decided about claims and promises, put over what was found."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Generic, TypeVar

from episode.day.same_words import ALIKE, SURELY_ALIKE, likeness, plain
from episode.models import Action, Claim, Correction, Decision, Problem, Promise

T = TypeVar("T", Claim, Promise)

NEAR_S = 3.0
"""A decision still means a claim whose place moved by this much."""
_SAME_PLACE_S = 0.35
_PLAINLY_NEARER = 3.0

ABOUT_CLAIMS: frozenset[Action] = frozenset({"reference", "reword", "strike", "correct"})


def decided(
    claims: tuple[Claim, ...], promises: tuple[Promise, ...], decisions: tuple[Decision, ...]
) -> tuple[tuple[Claim, ...], tuple[Promise, ...], tuple[Problem, ...]]:
    """``claims`` and ``promises`` with decisions laid over them in the order they were made; the later wins.

    ``decisions`` are those in force. One finds its subject by content: nearly the same words in the same clip,
    nearest to its second, of its kind and about its term where these are told; words that were heard otherwise
    since still count within 3 s. ``correct`` means the statement, and so every claim in it. One that fits nothing
    any more, or could mean more than one, changes nothing and is reported with its line.
    """
    told_claims, told_promises = _Told(claims), _Told(promises)
    problems: list[Problem] = []
    for decision in decisions:
        if decision.action in ABOUT_CLAIMS:
            fault = told_claims.change(decision, _changed_claim)
        elif decision.action == "kept":
            fault = told_promises.change(decision, _changed_promise)
        else:
            continue  # about moments or chapters: other rooms'
        if fault:
            problems.append(_stale(decision, fault))
    return tuple(told_claims.items), tuple(told_promises.items), tuple(problems)


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


class _Told(Generic[T]):
    """Claims or promises, found by their words."""

    def __init__(self, items: Sequence[T]) -> None:
        self.items: list[T] = list(items)
        self._by_clip: dict[str, dict[str, list[int]]] = {}
        for index, item in enumerate(items):
            self._by_clip.setdefault(item.clip, {}).setdefault(item.quote, []).append(index)
        self._alike: dict[tuple[str | None, str], list[int]] = {}

    def change(self, decision: Decision, change: Callable[[T, Decision], T]) -> str:
        """Change what the decision means; in words why there is none."""
        found = self._find(decision)
        if isinstance(found, str):
            return found
        for index in found:
            self.items[index] = change(self.items[index], decision)
        return ""

    def _find(self, decision: Decision) -> list[int] | str:
        if decision.quote:
            meant = self._of_kind(self._with_words(decision.clip, decision.quote), decision)
            if meant and (decision.start is None or decision.action == "correct"):
                return meant
            if meant:
                return self._nearest(meant, decision)
        near = self._of_kind(self._near(decision), decision)
        if decision.quote:
            near = [i for i in near if likeness(decision.quote, self.items[i].quote, ALIKE) >= ALIKE]
        return self._nearest(near, decision) if near else "nothing like it was found"

    def _with_words(self, clip: str | None, quote: str) -> list[int]:
        """All with nearly these words in the clip; in every clip where none is given."""
        known = self._alike.get((clip, quote))
        if known is None:
            wanted, words = [clip] if clip in self._by_clip else [] if clip else list(self._by_clip), plain(quote)
            known = self._alike[clip, quote] = [
                index
                for name in wanted
                for said, indices in self._by_clip[name or ""].items()
                if _may_reach(words, plain(said)) and likeness(quote, said, SURELY_ALIKE) >= SURELY_ALIKE
                for index in indices
            ]
        return known

    def _of_kind(self, found: list[int], decision: Decision) -> list[int]:
        if decision.kind:
            found = [i for i in found if _family(self.items[i].kind) == _family(decision.kind)]
            found = [i for i in found if self.items[i].kind == decision.kind] or found
        if decision.term:
            about = [i for i in found if _about(self.items[i]) == decision.term.casefold()]
            found = about or found
        return found

    def _near(self, decision: Decision) -> list[int]:
        if decision.start is None:
            return []
        said = self._by_clip.get(decision.clip or "", {})
        at = decision.start
        return [i for indices in said.values() for i in indices if abs(self.items[i].start - at) <= NEAR_S]

    def _nearest(self, found: Iterable[int], decision: Decision) -> list[int] | str:
        """Those at the second nearest to the decision's; in words where far places are about as near."""
        at = decision.start or 0.0
        off = {i: abs(self.items[i].start - at) for i in found}
        least = min(off.values())
        others = [distance for distance in off.values() if distance - least > _SAME_PLACE_S]
        if least > NEAR_S and others and min(others) < _PLAINLY_NEARER * least:
            return "it could be more than one now"
        return [i for i, distance in off.items() if distance - least <= _SAME_PLACE_S]


def _may_reach(one: str, other: str) -> bool:
    """Whether two texts of these lengths can be that alike: cheap, and most are not."""
    whole = len(one) + len(other)
    return whole > 0 and 200.0 * min(len(one), len(other)) / whole >= SURELY_ALIKE


def _family(kind: str) -> str:
    """Kinds that one recogniser's words give and another's do not."""
    return {"period": "date", "detail": "link"}.get(kind, kind)


def _about(item: Claim | Promise) -> str:
    return (item.about or "").casefold() if isinstance(item, Claim) else ""


def _changed_claim(claim: Claim, decision: Decision) -> Claim:
    if decision.action == "correct":
        # Put right elsewhere in the description; as it was said it stands nowhere any more.
        note = f"corrected: {decision.value}" if decision.value else claim.note
        update: dict[str, object] = {"struck": bool(decision.value), "note": note}
    elif decision.action == "strike":
        update = {"struck": decision.value is not False}
    elif decision.action == "reword":
        update = {"wording": str(decision.value).strip() or None if decision.value else None}
    else:
        update = {"reference": str(decision.value) if decision.value else None}
    before = tuple(action for action in claim.decided if action != decision.action)
    return claim.model_copy(update={**update, "decided": (*before, decision.action)})


def _changed_promise(promise: Promise, decision: Decision) -> Promise:
    if decision.value in {None, False, ""}:
        return promise.model_copy(update={"kept": False, "by": None, "decided": ("kept",)})
    by = decision.value if isinstance(decision.value, str) else f"decided, line {decision.line}"
    return promise.model_copy(update={"kept": True, "by": by, "decided": ("kept",)})


def _stale(decision: Decision, why: str) -> Problem:
    return Problem(
        where=f"decisions.jsonl, line {decision.line}",
        what=f"`{decision.action}` no longer applies to {decision.quote or decision.term!r}: {why}",
        remedy="Nothing was lost; decide again if it still matters.",
        level="note",
    )
