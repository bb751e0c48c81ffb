"""What a decision does to the thing it is about, before the whole day is worked through again."""

from __future__ import annotations

from episode.claims.decided import decided as decided_claims
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.drafting.timeline import starts
from episode.models import Decision, Moment, Stance

_MOMENTS = frozenset({"accept", "reject", "rename", "stance", "pair", "move", "still"})
_CLAIMS = frozenset({"reference", "reword", "strike", "kept"})


def at_once(day: DayResult, decision: Decision) -> DayResult | None:
    """The day with the one thing changed that ``decision`` is about, or None where only a whole run can tell."""
    if decision.action in _MOMENTS:
        index = next(
            (
                k
                for k, m in enumerate(day.moments)
                if m.clip == decision.clip and m.start == decision.start and m.term == decision.term
            ),
            None,
        )
        if index is None:
            return None
        moments = list(day.moments)
        moments[index] = _moment(moments[index], decision)
        return day.model_copy(update={"matched": day.matched.model_copy(update={"moments": tuple(moments)})})
    if decision.action in _CLAIMS:
        if day.film is not None and decision.clip == day.film.name:
            claims, promises, _ = decided_claims(day.film.claims, day.film.promises, (decision,))
            film = day.film.model_copy(update={"claims": claims, "promises": promises})
            return day.model_copy(update={"film": film})
        claims, promises, _ = decided_claims(day.claims, day.promises, (decision,))
        return day.model_copy(update={"claims": claims, "promises": promises})
    if decision.action == "title":
        at = starts(day.clips).get(decision.clip or "", -1e9) + (decision.start or 0.0)
        told = outgoing(str(decision.value), day.settings)
        named = (c.model_copy(update={"title": told}) if abs(c.start - at) < 0.01 else c for c in day.chapters)
        return day.model_copy(update={"chapters": tuple(named)})
    return None


def _moment(moment: Moment, decision: Decision) -> Moment:
    value = decision.value
    update: dict[str, object] = {"decided": tuple(dict.fromkeys((*moment.decided, decision.action)))}
    if decision.action == "reject":
        update |= {"stance": Stance.ASIDE, "find": None, "why": ("set aside by hand",)}
    elif decision.action == "rename":
        update |= {"title": str(value)}
    elif decision.action == "stance":
        update |= {"stance": Stance(str(value))}
    elif decision.action == "pair":
        update |= {"find": str(value) if value else None, "confidence": 1.0, "why": ("by hand",)}
    elif decision.action == "still":
        update |= {"still_at": float(value) if isinstance(value, int | float) else moment.still_at}
    return moment.model_copy(update=update)
