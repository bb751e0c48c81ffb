"""What a person can decide: each action with its subject, its value and the words for a value that will not do."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from episode.errors import UnusableInput
from episode.models import Action, Decision, Stance

LONGEST_TEXT = 4000
"""Most characters in one field: a decision is a line, no essay."""

Subject = Literal["moment", "claim", "promise", "chapter", "place", "line"]


@dataclass(frozen=True)
class Rule:
    """One action. ``value`` says in words what its value is; ``fault`` finds what is wrong with one."""

    subject: Subject
    value: str
    fault: Callable[[Decision], str]


def vet(decision: Decision) -> None:
    """Refuse a decision that could never apply.

    Raises:
        UnusableInput: the subject is not told, or the value is not one for this action; it says which and why.
    """
    rule = ACTIONS[decision.action]
    fault = _too_long(decision) or _no_subject(decision, rule.subject) or rule.fault(decision)
    if fault:
        raise UnusableInput(fault, where=f"decision “{decision.action}”", remedy=f"Its value is {rule.value}.")


def _too_long(decision: Decision) -> str:
    for name, value in decision.model_dump().items():
        if isinstance(value, str) and len(value) > LONGEST_TEXT:
            return f"`{name}` has {len(value)} characters, more than {LONGEST_TEXT}"
    if decision.at:
        try:
            dt.datetime.fromisoformat(decision.at)
        except ValueError:
            return f"`at` is {decision.at!r}, which is no ISO 8601 time"
    return ""


def _no_subject(decision: Decision, subject: Subject) -> str:
    if decision.start is not None and decision.start < 0:
        return "`start` lies before the clip"
    if decision.start is not None and decision.end is not None and decision.end < decision.start:
        return "`end` lies before `start`"
    placed = bool(decision.clip) and decision.start is not None
    if subject == "line" or placed:
        return ""
    if subject in {"moment", "claim", "promise"}:
        return "" if decision.quote else "which one is meant is not told: give `clip` and `start`, or `quote`"
    return "which place is meant is not told: give `clip` and `start`"


def _none(_decision: Decision) -> str:
    return ""


def _words(decision: Decision) -> str:
    given = isinstance(decision.value, str) and decision.value.strip()
    return "" if given else "needs words as its value"


def _words_or_none(decision: Decision) -> str:
    fits = decision.value is None or decision.value is False or isinstance(decision.value, str)
    return "" if fits else f"{decision.value!r} is not words"


def _yes_or_no(decision: Decision) -> str:
    return "" if decision.value in {None, True, False} else f"{decision.value!r} is neither true nor false"


def _kept(decision: Decision) -> str:
    fits = decision.value is None or isinstance(decision.value, str | bool)
    return "" if fits else f"{decision.value!r} is neither words nor true nor false"


def _find(decision: Decision) -> str:
    return f"{decision.value!r} is no find number" if decision.value is True else ""


def _stance(value: object) -> str:
    return "" if value in _STANCES else f"{value!r} is no stance"


def _second(decision: Decision) -> str:
    value = decision.value
    given = isinstance(value, float) and value >= 0
    return "" if given else f"{value!r} is no second of the clip"


def _inside(decision: Decision) -> str:
    fault = _second(decision)
    if fault or not isinstance(decision.value, float) or decision.start is None:
        return fault
    if decision.value <= decision.start or (decision.end is not None and decision.value >= decision.end):
        return f"second {decision.value:g} is not inside the moment"
    return ""


def _joined(decision: Decision) -> str:
    if not decision.clip:
        return "needs `clip`: moments are joined within one clip"
    same = decision.value == decision.start
    return _second(decision) or ("a moment cannot be joined with itself" if same else "")


def _moved(decision: Decision) -> str:
    first, last = decision.new_start, decision.new_end
    if first is None and last is None:
        return "needs `new_start`, `new_end` or both"
    if min(first or 0.0, last or 0.0) < 0:
        return "a moment cannot begin or end before its clip"
    begin = first if first is not None else decision.start
    close = last if last is not None else decision.end
    if begin is not None and close is not None and close <= begin:
        return "a moment must end after it begins"
    return ""


def _added(decision: Decision) -> str:
    if decision.end is None or decision.start is None or decision.end <= decision.start:
        return "needs an `end` after its `start`"
    fault = _words_or_none(decision)
    return fault or (_stance(decision.stance) if decision.stance is not None else "")


_STANCES = {stance.value for stance in Stance}

ACTIONS: dict[Action, Rule] = {
    "accept": Rule("moment", "not needed: the moment was looked at and is right", _none),
    "reject": Rule("moment", "not needed: the moment is none", _none),
    "rename": Rule("moment", "a term of the vocabulary, or free words", _words),
    "stance": Rule("moment", "one of " + ", ".join(sorted(_STANCES)), lambda d: _stance(d.value)),
    "pair": Rule("moment", "a find number of the log, or null for none", _find),
    "split": Rule("moment", "the second of the clip where the later part begins", _inside),
    "join": Rule("moment", "the second at which the other moment of the same clip begins", _joined),
    "move": Rule("moment", "not used: `new_start` and `new_end` are seconds of the clip", _moved),
    "add": Rule("place", "its name (a term or free words), or null; `stance` may be given, else found", _added),
    "still": Rule("moment", "the second of the clip that shows it best", _second),
    "reference": Rule("claim", "a reference, or null to take one back", _words_or_none),
    "reword": Rule("claim", "how the description shall say it, or null for the draft's own words", _words_or_none),
    "strike": Rule("claim", "true (or none) to strike it from the description, false to put it back", _yes_or_no),
    "correct": Rule("claim", "what is so instead, or empty to withdraw the correction", _words_or_none),
    "kept": Rule("promise", "words that say how it is kept, true, or false for not kept", _kept),
    "title": Rule("chapter", "the chapter's title", _words),
    "begin": Rule("chapter", "the second of the clip at which the chapter begins", _second),
    "drop": Rule("chapter", "not needed: the chapter joins the one before it", _none),
    "undo": Rule("line", "the id of the line that it takes back", _words),
}
"""Every action there is. ``undo`` works on itself too, so that what was undone can be done again."""
