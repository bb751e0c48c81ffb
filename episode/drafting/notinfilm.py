"""What of the day the finished film no longer has, as a list to read through."""

from __future__ import annotations

from collections.abc import Iterable

from episode.cutting.pieces import Dropped, Retimed
from episode.drafting.naming import name_of
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.drafting.stamps import stamp
from episode.models import Stance

_SHOWN = frozenset({Stance.FOUND, Stance.EARLIER, Stance.UNSURE})


def not_in_the_film(day: DayResult, moved: Retimed) -> str:
    """The list as text: finds, claims and promises that were cut out, each with its clip, its second and why.

    ``day`` is on the raw clips. Other talk that was cut is left to ``cut.json``.
    """
    settings = day.settings
    gone = {item.id: item for item in moved.dropped}
    finds = []
    for moment in day.moments:
        if moment.id in gone and moment.stance in _SHOWN:
            entry = day.entries.get(moment.find) if moment.find else None
            number = f"find {moment.find}, " if moment.find else ""
            name = number + (name_of(moment, settings, entry) or "unnamed")
            finds.append((name, gone[moment.id]))
    claims = [(f"“{c.quote}” ({c.verdict.value})", gone[c.id]) for c in day.claims if c.id in gone]
    owed = [(f"{p.kind}: {p.text} (“{p.quote}”)", gone[p.id]) for p in day.promises if p.id in gone]
    parts = (
        f"Not in the film {outgoing(moved.cut, settings)}",
        _section("Finds that were cut out", finds, day),
        _section("Claims that are no longer made, and hold nothing up", claims, day),
        _section("Promises that are no longer made", owed, day),
    )
    return "\n\n".join(parts) + "\n"


def _section(title: str, items: Iterable[tuple[str, Dropped]], day: DayResult) -> str:
    lines = [
        outgoing(f"- {words}: {item.clip} at {stamp(item.start)}, {item.why}", day.settings) for words, item in items
    ]
    return "\n".join((f"{title}:", *(lines or ["- none"])))
