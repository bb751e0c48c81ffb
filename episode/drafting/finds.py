"""The day's finds as a viewer meets them: the moments of one thing together, with its log row."""

from __future__ import annotations

from episode.drafting.naming import is_mass, is_unknown, name_of
from episode.drafting.result import DayResult
from episode.models import LogEntry, Moment, Stance, Value

_SHOWN = frozenset({Stance.FOUND, Stance.UNSURE, Stance.EARLIER})


class Find(Value):
    """One thing shown. ``name`` is empty where nobody had a word for it; ``mass`` names are counted by the piece."""

    name: str
    mass: bool
    unknown: bool
    earlier: bool
    moments: tuple[Moment, ...]
    entry: LogEntry | None = None


def finds(day: DayResult) -> tuple[Find, ...]:
    """Everything that is shown, in programme order; moments tied to one log row are one find."""
    groups: dict[str, list[Moment]] = {}
    for moment in day.moments:
        if moment.stance in _SHOWN:
            groups.setdefault(f"find {moment.find}" if moment.find else f"moment {moment.id}", []).append(moment)
    return tuple(_find(group, day) for group in groups.values())


def _find(group: list[Moment], day: DayResult) -> Find:
    entry = day.entries.get(group[0].find) if group[0].find else None
    named = [m for m in group if not is_unknown(m)]
    first = named[0] if named else group[0]
    return Find(
        name=name_of(first, day.settings, entry if named else None),
        mass=is_mass(first),
        unknown=not named,
        earlier=all(m.stance is Stance.EARLIER for m in group),
        moments=tuple(group),
        entry=entry,
    )
