"""Why a find was tied to its log row, in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence

from episode.matching.meaning import Meaning
from episode.matching.pairing import Find, Pair
from episode.models import LogEntry

_TOGETHER_S = 3.0


def reasons(
    pair: Pair, log: Sequence[LogEntry], meaning: Meaning, lag: float, finds: Sequence[Find], *, batch: bool
) -> tuple[str, ...]:
    """Sentences for one pair, the strongest first. ``lag`` is log time less naming time in s, nan without one."""
    row = log[pair.row]
    found = ["paired by hand"] if pair.by_hand else []
    found += meaning.reasons(pair.find, pair.row, row.object.strip())
    found.append(_timing(row, lag, batch=batch))
    if pair.shared_with is not None:
        found.append(f"shows again what {finds[pair.shared_with].moment.clip} shows")
    if not pair.in_order and not pair.by_hand:
        found.append("out of the log's order: the words decided")
    if pair.other is not None and not pair.by_hand:
        found.append(f"find {log[pair.other].find} could be it too ({pair.second:.0%})")
    return tuple(found)


def alone(has_log: bool, *, by_hand: bool) -> tuple[str, ...]:
    """Why a find has no row."""
    if by_hand:
        return ("set apart from the log by hand",)
    return ("nothing in the log fits its name, time and place in the order",) if has_log else ("there is no log",)


def _timing(row: LogEntry, lag: float, *, batch: bool) -> str:
    if lag != lag:  # noqa: PLR0124 - the definition of nan
        return (
            "the log gives no time; its place in the order fits" if row.time is None else "the clip's time is unknown"
        )
    if batch:
        return "logged in one go with others; its time says little"
    if abs(lag) < _TOGETHER_S:
        return "logged as it was named"
    return f"logged {_length(abs(lag))} {'after' if lag > 0 else 'before'} it was named"


def _length(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"
