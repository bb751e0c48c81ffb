"""What was decided, in words, for the list that undoes it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from episode.day.undoing import current
from episode.drafting.outgoing import outgoing
from episode.drafting.stamps import stamp
from episode.models import Decision, Settings

_WORDS = {
    "accept": "right",
    "reject": "not a find",
    "rename": "named",
    "stance": "is",
    "pair": "log row",
    "move": "times set",
    "split": "split",
    "join": "joined with the next",
    "still": "still chosen",
    "add": "added",
    "reference": "reference given",
    "reword": "reworded",
    "strike": "struck",
    "kept": "promise kept",
    "title": "chapter titled",
    "begin": "chapter begins",
    "drop": "chapter joined up",
    "correct": "corrected",
    "undo": "undone",
}


@dataclass(frozen=True)
class Deed:
    """A line of the list: what was done, about what, when (UTC), and whether it was undone since."""

    back: str
    """The line that an undoing has to name to take it back, or to do it again where it is undone."""
    what: str
    about: str
    when: str
    undone: bool = False

    def said(self) -> str:
        """In one breath."""
        return f"{self.what[:1].upper()}{self.what[1:]}: {self.about}" if self.about else self.what.capitalize()


def deeds(decisions: Sequence[Decision], settings: Settings | None = None) -> list[Deed]:
    """Every decision in words, in the order they were made; undoings are told on what they undid."""
    in_force = current(decisions, undos=True)
    standing = {id(d) for d in in_force}
    by_undo = {str(d.value): d.id for d in in_force if d.action == "undo"}
    told = settings or Settings()
    return [
        Deed(
            back=d.id if id(d) in standing else by_undo.get(d.id, ""),
            what=outgoing(_what(d), told),
            about=outgoing(_about(d), told),
            when=d.at[:16].replace("T", " "),
            undone=id(d) not in standing,
        )
        for d in decisions
        if d.action != "undo" or len(decisions) == 1
    ]


def _what(decision: Decision) -> str:
    words = _WORDS.get(decision.action, decision.action)
    if decision.action == "strike" and decision.value is False:
        return "let stand"
    if decision.action == "kept" and decision.value in {False, None}:
        return "promise not kept"
    if decision.action in {"rename", "stance", "pair", "title"}:
        return f"{words} “{decision.value}”" if decision.value else f"{words}: none"
    return words


def _about(decision: Decision) -> str:
    name = decision.term or (decision.quote or "")[:60]
    where = f"{decision.clip} at {stamp(decision.start)}" if decision.clip and decision.start is not None else ""
    return ", ".join(part for part in (name, where) if part)
