"""What a log row's place in time says about when its find was filmed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from math import log
from typing import TYPE_CHECKING

from episode.matching.wall import epoch
from episode.models import LogEntry, Problem

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

BATCH_GAP_S = 45.0
BATCH_ROWS = 3
PAIR_GAP_S = 15.0
"""Two rows this close were hardly written as their finds were named, though they make no batch."""
MIDDLE_S = 30.0
BATCH_ROWS_A_MINUTE = 5
"""Where times are cut to the minute, three finds of one minute are no sign of a batch."""
_SLACK_S = 90.0
_WIDE_S = 900.0
_LATE_S = 1800.0
_PHOTO_APART_S = 1800.0


@dataclass(frozen=True)
class RowTimes:
    """The rows' times in seconds since 1970, in the order that alignment follows.

    ``order`` lists row indices in that order. ``when[j]`` is the time of row ``j`` (nan without one),
    ``since[j]`` to ``until[j]`` the window that a row without its own moment in time fits into (nan where
    nothing bounds it). ``batch[j]`` marks rows written together in one go.
    """

    order: tuple[int, ...]
    when: NDArray[np.float64]
    since: NDArray[np.float64]
    until: NDArray[np.float64]
    batch: NDArray[np.bool_]
    close: NDArray[np.bool_]
    """Rows written within ``PAIR_GAP_S`` of another, where times tell seconds."""
    minutes: bool
    """Times are given to the minute, as a clock on a phone or a wrist shows it: cut off, so that each stands for
    the minute that it begins, and its middle is taken (common practice, no source)."""

    @property
    def span(self) -> float:
        """From the first time to the last, in seconds, never below an hour."""
        import numpy as np

        known = self.when[~np.isnan(self.when)]
        return max(3600.0, float(known.max() - known.min())) if known.size else 3600.0


def row_times(log_rows: Sequence[LogEntry], photo_times: Mapping[int, datetime] | None = None) -> RowTimes:
    """Order the log by time where times are given, else by place in the file, and bound the rows without.

    ``photo_times`` are the times of photographs that rows name, by the row's number in the file, on the log's
    clock; they stand in where a row has no time of its own.
    """
    import numpy as np

    own = np.array([epoch(row.time) if row.time else np.nan for row in log_rows], dtype=float)
    written = int((~np.isnan(own)).sum())
    whole = np.array([not np.isnan(at) and at % 60 == 0 for at in own], dtype=bool)
    minutes = written >= 4 and int(whole.sum()) >= 0.8 * written
    if minutes:
        own = np.where(whole, own + MIDDLE_S, own)
    photos = [photo_times.get(row.row) if photo_times else None for row in log_rows]
    shot = np.array([epoch(at) if at else np.nan for at in photos], dtype=float)
    when = np.where(np.isnan(own), shot, own)
    timed = [j for j in range(len(log_rows)) if not np.isnan(when[j])]
    downward = _runs_backwards([float(when[j]) for j in timed])
    places = list(range(len(log_rows)))[:: -1 if downward else 1]
    order = _interleave(places, when)
    since, until = np.full(len(when), np.nan), np.full(len(when), np.nan)
    batch = _batches(order, when, BATCH_ROWS_A_MINUTE if minutes else BATCH_ROWS)
    if minutes:
        batch |= _crowded_minutes(order, when)
    _bound(order, when, since, until)
    _bound_batches(order, when, batch, since, until)
    close = np.zeros(len(when), dtype=bool) if minutes else _close(when)
    return RowTimes(tuple(order), when, since, until, batch, close, minutes)


def photo_problems(log_rows: Sequence[LogEntry], photo_times: Mapping[int, datetime]) -> list[Problem]:
    """Rows whose own time and whose photograph's are far apart."""
    found: list[Problem] = []
    for row in log_rows:
        shot = photo_times.get(row.row)
        if row.time is None or shot is None or abs(gap := epoch(shot) - epoch(row.time)) <= _PHOTO_APART_S:
            continue
        size = f"{abs(gap) / 60:.0f} minutes" if abs(gap) < 7200 else f"{abs(gap) / 3600:.1f} hours"
        way = "after" if gap > 0 else "before"
        found.append(
            Problem(
                where=f"find log, row {row.row}",
                what=f"its photograph {row.photo or ''} was taken {size} {way} the row's own time".replace("  ", " "),
                remedy="Look at both; the row's own time was used.",
                level="note",
            )
        )
    return found


def time_evidence(named_at: NDArray[np.float64], rows: RowTimes, spread: NDArray[np.float64]) -> NDArray[np.float64]:
    """Log-likelihood ratios in nats for every moment and row, from times alone.

    ``named_at`` are the moments' times on the log's clock (nan where unknown), ``spread`` the standard
    deviation of logging about naming with the clock's own doubt. Later is likelier than earlier, and both
    tails are wide: a find may be logged long after it was shown.
    """
    import numpy as np

    span = max(rows.span, 3600.0) + 3600.0
    lag = rows.when[None, :] - named_at[:, None]
    wide = np.maximum(spread, 1.0)[:, None]
    with np.errstate(invalid="ignore", under="ignore"):
        near = 0.70 * _normal(lag, wide) + 0.22 * _normal(lag, 4.0 * wide)
        tail = np.where(lag >= 0, 0.67, 0.33) * np.exp(-np.abs(lag) / _WIDE_S) / _WIDE_S
        evidence = np.log((near + 0.06 * tail) * span + 0.02)
        bounded = np.isnan(rows.when) & ~np.isnan(rows.since)
        loose = np.flatnonzero(rows.batch | bounded)  # rows with a window; on most days they are few
        since, until = rows.since[loose], rows.until[loose]
        at, slack = named_at[:, None], _SLACK_S + wide
        inside = (at >= since - slack) & (at <= until + slack)
        width = np.maximum(until - since, 60.0) + 2 * _SLACK_S
        before = (at < since) & (at >= since - _LATE_S)
        window = np.where(inside, np.maximum(np.log(0.75 * span / width + 0.15), 0.0), np.log(0.15 + 0.25 * before))
        both = np.logaddexp(evidence[:, loose] + log(0.4), window + log(0.6))
        evidence[:, loose] = np.where(bounded[loose], window, both)
    return np.nan_to_num(evidence, nan=0.0, posinf=0.0, neginf=-4.0)


def _normal(value: NDArray[np.float64], spread: NDArray[np.float64]) -> NDArray[np.float64]:
    import numpy as np

    scaled: NDArray[np.float64] = np.exp(-0.5 * (value / spread) ** 2) / (spread * 2.5066282746)
    return scaled


def _runs_backwards(times: Sequence[float]) -> bool:
    """Whether the file was written newest first."""
    steps = [b - a for a, b in pairwise(times)]
    return len(steps) >= 3 and sum(s < 0 for s in steps) > 2 * sum(s > 0 for s in steps)


def _interleave(places: Sequence[int], when: NDArray[np.float64]) -> list[int]:
    """Rows by time; a row without one follows the row above it in the file."""
    import numpy as np

    keys: list[tuple[float, int, int]] = []
    latest = -float("inf")
    for place, j in enumerate(places):
        if not np.isnan(when[j]):
            latest = float(when[j])
        keys.append((latest, place, j))
    return [j for _, _, j in sorted(keys)]


def _batches(order: Sequence[int], when: NDArray[np.float64], least: int) -> NDArray[np.bool_]:
    """Runs of rows whose times follow each other closely, rows without a time between them included."""
    import numpy as np

    batch = np.zeros(len(when), dtype=bool)
    run: list[int] = []
    pending: list[int] = []
    latest = -np.inf
    for j in [*order, -1]:
        if j >= 0 and np.isnan(when[j]):
            pending.append(j)
            continue
        if j >= 0 and run and when[j] - latest <= BATCH_GAP_S:
            run += [*pending, j]
        else:
            if len(run) >= least:
                batch[run] = True
            run = [j]
        pending = []
        latest = when[j] if j >= 0 else latest
    return batch


def _crowded_minutes(order: Sequence[int], when: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Batches that the cut to the minute tears in two: as many rows in two minutes that follow each other."""
    import numpy as np

    batch = np.zeros(len(when), dtype=bool)
    known = [(place, float(when[j])) for place, j in enumerate(order) if not np.isnan(when[j])]
    last = 0
    for first, (start, at) in enumerate(known):
        last = max(last, first)
        while last + 1 < len(known) and known[last + 1][1] - at <= 60.0:
            last += 1
        inside = order[start : known[last][0] + 1]
        if len(inside) >= BATCH_ROWS_A_MINUTE:
            batch[list(inside)] = True
    return batch


def _close(when: NDArray[np.float64]) -> NDArray[np.bool_]:
    import numpy as np

    close = np.zeros(len(when), dtype=bool)
    known = [int(j) for j in np.argsort(when, kind="stable") if not np.isnan(when[j])]
    for one, other in pairwise(known):
        if when[other] - when[one] <= PAIR_GAP_S:
            close[[one, other]] = True
    return close


def _bound(
    order: Sequence[int], when: NDArray[np.float64], since: NDArray[np.float64], until: NDArray[np.float64]
) -> None:
    import numpy as np

    latest = np.nan
    for j in order:
        if np.isnan(when[j]):
            since[j] = latest
        else:
            latest = when[j]
    coming = np.nan
    for j in reversed(order):
        if np.isnan(when[j]):
            until[j] = coming
        else:
            coming = when[j]
    # Open at one end: the day's first or last hour.
    lone = np.isnan(since) & ~np.isnan(until)
    since[lone] = until[lone] - 3600.0
    lone = ~np.isnan(since) & np.isnan(until)
    until[lone] = since[lone] + 3600.0


def _bound_batches(
    order: Sequence[int],
    when: NDArray[np.float64],
    batch: NDArray[np.bool_],
    since: NDArray[np.float64],
    until: NDArray[np.float64],
) -> None:
    """A batch covers what was found since the row before it; so does a row without a time on its edge."""
    import numpy as np

    timed = [j for j in order if not np.isnan(when[j])]
    previous: float | None = None
    start: float | None = None
    windows: dict[int, tuple[float, float]] = {}
    for j in timed:
        if batch[j]:
            start = start if start is not None else (previous if previous is not None else float(when[j]) - 3600.0)
            windows[j] = (start, float(when[j]))
        else:
            start = None
        previous = float(when[j])
    for place, j in enumerate(order):
        near = [windows[k] for k in order[max(0, place - 2) : place + 3] if k in windows]
        if j in windows:
            since[j], until[j] = windows[j]
        elif near and np.isnan(when[j]):
            since[j] = np.fmin(since[j], min(low for low, _ in near))
            until[j] = np.fmax(until[j], max(high for _, high in near))
