"""What a marker says beside its name: colour as a second sign of the stance, and claims that want a look."""

from __future__ import annotations

from episode.drafting.naming import is_unknown
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.models import Claim, Moment, Stance, Verdict
from episode.once import once_for_the_same

_COLOURS = {Stance.FOUND: "GREEN", Stance.EARLIER: "CYAN", Stance.RECAP: "WHITE"}
_LONGEST = 60


def colour_of(moment: Moment) -> str:
    """A colour that OpenTimelineIO and edit lists know; the marker's name says the stance in words."""
    return "ORANGE" if is_unknown(moment) else _COLOURS.get(moment.stance, "BLACK")


def comment_of(moment: Moment, day: DayResult) -> str:
    """Claims of the moment that the record does not support and no reference backs, or an empty string."""
    told = [
        f"{claim.verdict.value}: {_short(outgoing(claim.quote, day.settings))}"
        for claim in _by_moment(day.claims).get(moment.id, ())
        if claim.verdict is not Verdict.SUPPORTED and not claim.reference
    ]
    return "check " + "; ".join(told) if told else ""


@once_for_the_same
def _by_moment(claims: tuple[Claim, ...]) -> dict[str | None, list[Claim]]:
    found: dict[str | None, list[Claim]] = {}
    for claim in claims:
        found.setdefault(claim.moment, []).append(claim)
    return found


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3].rstrip() + "..."
