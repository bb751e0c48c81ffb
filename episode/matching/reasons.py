"""Why a find was paired with its log row, or why not, in short plain sentences."""

from __future__ import annotations

from collections.abc import Sequence

from episode.matching.meaning import Meaning
from episode.matching.pairing import Find, Pair
from episode.models import LogEntry

_AT_ONCE_S = 5.0


def reasons(
    pair: Pair, log: Sequence[LogEntry], meaning: Meaning, lag: float, finds: Sequence[Find], *, batch: bool
) -> tuple[str, ...]:
    """The grounds of a pair. ``lag`` is how long after the naming the row was written, in seconds (nan unknown)."""
    row = log[pair.row]
    said = [f"it is row {row.row} of the log, which has no number"] if not row.find.strip() else []
    if pair.by_hand:
        return ("paired by hand", *said)
    if pair.shared_with is not None:
        other = finds[pair.shared_with].moment
        said.append(f"the same find as {other.id} in {other.clip}, filmed at the same time or running on")
    said += meaning.reasons(pair.find, pair.row, row.object.strip())
    if lag == lag:  # noqa: PLR0124 - not nan
        said.append(f"{_delay(lag)}{', together with other rows' if batch else ''}")
    elif pair.in_order:
        said.append("its row gives no time; the order of the log fits")
    if not pair.in_order:
        said.append("out of the log's order")
    if pair.other is not None:
        rival = log[pair.other]
        said.append(f"find {rival.find or f'in row {rival.row}'} was the next best ({pair.second:.0%})")
    return tuple(said)


def alone(has_log: bool, *, by_hand: bool) -> tuple[str, ...]:
    """The grounds of a find without a row."""
    if by_hand:
        return ("left without a log entry by hand",)
    return ("no row of the log fits its name and its time",) if has_log else ("there is no log",)


def _delay(lag: float) -> str:
    if abs(lag) <= _AT_ONCE_S:
        return "logged as it was named"
    size = f"{abs(lag):.0f} s" if abs(lag) < 120 else f"{abs(lag) / 60:.0f} min"
    if abs(lag) >= 7200:
        size = f"{abs(lag) / 3600:.1f} h"
    return f"logged {size} {'after' if lag > 0 else 'before'} it was named"
