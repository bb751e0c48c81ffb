"""What a marker says beside its name: colour as a second sign of the stance, and claims that want a look."""

from __future__ import annotations

from episode.drafting.naming import is_unknown
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.models import Moment, Stance, Verdict

_COLOURS = {Stance.FOUND: "GREEN", Stance.EARLIER: "CYAN", Stance.RECAP: "WHITE"}
_LONGEST = 60


def colour_of(moment: Moment) -> str:
    """A colour that OpenTimelineIO and edit lists know; the marker's name says the stance in words."""
    return "ORANGE" if is_unknown(moment) else _COLOURS.get(moment.stance, "BLACK")


def comment_of(moment: Moment, day: DayResult) -> str:
    """Claims of the moment that the record does not support and no reference backs, or an empty string."""
    told = [
        f"{claim.verdict.value}: {_short(outgoing(claim.quote, day.settings))}"
        for claim in day.claims
        if claim.moment == moment.id and claim.verdict is not Verdict.SUPPORTED and not claim.reference
    ]
    return "check " + "; ".join(told) if told else ""


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3].rstrip() + "..."
