"""Every clock with its grounds in words, and what cannot be known."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from episode.matching.doubts import Doubt
from episode.matching.rounds import Rounds
from episode.matching.slips import slip
from episode.matching.times import RowTimes
from episode.models import Clip, Clock, LogEntry

LAG_NOTE = "a steady lag between finding and logging cannot be told from a slow clock and is part of the offset"
MINUTES_NOTE = (
    "the log gives whole minutes, taken as cut off, each at its middle; were they rounded, half a minute less"
)
_SURE = 0.95


def told_clocks(rounds: Rounds, log: Sequence[LogEntry], rows: RowTimes, clips: Sequence[Clip]) -> tuple[Clock, ...]:
    """The clocks as results; what holds for all of them is said once."""
    clocks: list[Clock] = []
    said = False
    for group, timing in enumerate(rounds.timings):
        clock = timing.clock
        body = [g for g in rounds.body_of(group) if g != group]
        tied = tuple(rounds.timings[g].clock.clip or rounds.timings[g].clock.camera for g in body)
        parts = [clock.basis] if clock.basis else []
        doubt = rounds.doubts.get(group)
        measured = clock.error_s is not None
        known = measured and doubt is not None and doubt.sure >= _SURE
        if not clock.pairs:
            parts.insert(0, _unpaired(log, rows, tied, measured=measured))
            strands = [strand for strand in rounds.web.strands if group in {strand.one, strand.other}]
            if len(strands) == 1 and len(strands[0].ties) == 1:
                parts.insert(1, "this rests on one tie, which nothing else confirms")
        elif tied:
            parts.append(f"its sound ties it to {_listed(tied)}, and both are measured together")
        if measured and (mistake := slip(clock.offset_s)):
            parts.append(mistake)
        if measured and not known and doubt is not None:
            parts.append(_cannot_know(doubt, clock.error_s or 0.0))
        if measured and rows.minutes:
            parts.append(MINUTES_NOTE)
        if measured and not said:
            parts, said = [*parts, LAG_NOTE], True
        clocks.append(
            clock.model_copy(
                update={
                    "basis": "; ".join(parts),
                    "known": known,
                    "holds_at": _holds_at(clock, clips),
                    "tied_to": tied,
                }
            )
        )
    return tuple(clocks)


def _unpaired(log: Sequence[LogEntry], rows: RowTimes, tied: Sequence[str], *, measured: bool) -> str:
    if measured:
        return f"no find of its own is logged with a time; its sound ties it to {_listed(tied)}, whose clock it takes"
    if not log:
        why = "there is no log to compare with"
    elif not any(row.time for row in log) and all(at != at for at in rows.when.tolist()):  # noqa: PLR0124 - nan
        why = "the log gives no times"
    else:
        why = "no find of this camera could be paired with a row that gives a time"
    if tied:
        return f"{why}; set by its sound to agree with {_listed(tied)}, which may be off together with it"
    return f"{why}; the camera's own time was kept"


def _cannot_know(doubt: Doubt, error: float) -> str:
    size = f"{error:.0f} s" if error < 300 else f"{error / 60:.0f} min" if error < 7200 else f"{error / 3600:.0f} h"
    if not doubt.sure:
        return f"cannot be known: its finds were logged later, together with others; 95 % only within {size}"
    rival = f", {round(doubt.rival):+d} s for one" if doubt.rival is not None else ""
    return (
        f"cannot be known from so few finds: other offsets fit nearly as well{rival}; "
        f"{doubt.sure:.0%} sure, and 95 % only within {size}"
    )


def _holds_at(clock: Clock, clips: Sequence[Clip]) -> datetime | None:
    mine = [c.start for c in clips if c.camera == clock.camera and clock.clip in {None, c.name}]
    return min(mine, key=lambda at: at.timestamp(), default=None)


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else "nothing"
