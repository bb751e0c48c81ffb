"""The cameras' clocks: what to add to each one's time to get the log's, how surely, and on what grounds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from episode.models import Clock

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

FIRST_SPREAD_S = 40.0
"""How far logging strays from naming before the day's own pairs tell."""
DRIFT_PPM = 35.0
"""Standard deviation of a camera's drift before anything is seen: most are within 35 ppm, all good ones within 100."""
_BROKEN_PPM, _BROKEN_SHARE = 1000.0, 0.003
"""What a broken clock may drift, and how rare one is. Estimates of the author, no source."""
_SMALLEST_SPREAD_S = 8.0
_LARGEST_SPREAD_S = 90.0
_HUBER = 1.345
_PRIOR_SPREAD_S = 20.0
_PRIOR_PAIRS = 2.0
_WRONG_AT = 4.0
_CUT_AT = 2.0
_CUT_SHARE = 0.9205
"""The mean square of a standard normal value whose size is cut off at 2."""
_FREE_S = 1e4
"""How loosely an offset is held where it began: not at all, but for clocks that only ties speak of."""
# Two-sided 95 % points of Student's t for 1 to 10 degrees of freedom: any statistical table; from memory.
_STUDENT = (12.71, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228)


@dataclass(frozen=True)
class Timing:
    """A clock at work. ``reference`` is the camera second (since 1970) at which ``offset_s`` holds exactly."""

    clock: Clock
    reference: float
    spread: float = FIRST_SPREAD_S

    def on_log(self, camera: float) -> float:
        """A camera second as the log's, both since 1970."""
        return camera + self.clock.offset_s + self.clock.drift_ppm * 1e-6 * (camera - self.reference)


@dataclass(frozen=True)
class Sight:
    """A find named at one camera's second and logged at another's, both since 1970; ``weight`` is its probability."""

    clock: int
    camera_at: float
    logged_at: float
    weight: float = 1.0


@dataclass(frozen=True)
class Link:
    """One instant on two cameras, told by sound: seconds since 1970, standard errors of both observations.

    ``drift_ppm`` is how much faster the other camera's seconds count.
    """

    one: int
    other: int
    one_at: float
    other_at: float
    error_s: float
    drift_ppm: float
    drift_error_ppm: float


def unknown_clock(camera: str, clip: str | None, reference: float, basis: str, offset: float = 0.0) -> Timing:
    """A clock that nothing is known of, or that is only tried out."""
    return Timing(Clock(camera=camera, clip=clip, offset_s=offset, basis=basis), reference)


def measure(timings: Sequence[Timing], sights: Sequence[Sight], links: Sequence[Link] = ()) -> list[Timing]:
    """Measure all clocks at once on their pairs and ties; robust against wrong pairs.

    Each clock is a line: an offset about which nothing is known, and a drift that is known before to be
    0 +- 35 ppm. Pairs and ties are observations of these lines, so that a camera without pairs takes its clock
    from those that it is tied to. Solved by iteratively reweighted least squares with Huber's weights
    (Huber 1964; from memory) on the pairs, ``weight`` their probabilities. The scatter of logging is the person's
    and the same for all cameras: residuals cut off at twice their scatter, leaning on a prior of 20 s worth two
    pairs, so that two pairs that happen to agree do not claim certainty. Intervals are Student's.
    """
    drifts = [DRIFT_PPM] * len(timings)
    free = _solve(timings, sights, links, [_BROKEN_PPM] * len(timings))
    for g in range(len(timings)):
        ppm, doubt = float(free.values[2 * g + 1]), float(free.covariance[2 * g + 1, 2 * g + 1] ** 0.5)
        if _is_broken(ppm, doubt):
            drifts[g] = _BROKEN_PPM
    fit = _solve(timings, sights, links, drifts)
    reach = _tied_together(len(timings), links)
    return [_timed(g, timing, fit, reach, drifts[g]) for g, timing in enumerate(timings)]


def _is_broken(ppm: float, doubt: float) -> bool:
    """Whether a drift, seen with a doubt of its own, is likelier a broken clock's than a good one's."""
    from math import log

    doubt = max(doubt, 1e-3)
    seen = 1.0 / max(1.0 / doubt**2 - 1.0 / _BROKEN_PPM**2, 1e-9)
    value = ppm * seen / doubt**2
    good, bad = seen + DRIFT_PPM**2, seen + _BROKEN_PPM**2
    gain = 0.5 * (value**2 / good - value**2 / bad) + 0.5 * log(good / bad) + log(_BROKEN_SHARE)
    return gain > 0.0


@dataclass(frozen=True)
class _Fit:
    """``values`` are offset (s) and drift (ppm) of each clock in turn; ``counts`` the pairs of each."""

    values: Array
    covariance: Array
    spread: float
    counts: Array


def _solve(timings: Sequence[Timing], sights: Sequence[Sight], links: Sequence[Link], drifts: Sequence[float]) -> _Fit:
    import numpy as np

    size = 2 * len(timings)
    reference = np.array([timing.reference for timing in timings])
    which = np.array([sight.clock for sight in sights], dtype=int)
    at = np.array([sight.camera_at for sight in sights], dtype=float)
    given = np.array([sight.weight for sight in sights], dtype=float)
    lag = np.array([sight.logged_at for sight in sights], dtype=float) - at
    counts = np.bincount(which, minlength=len(timings)).astype(float)
    begin = np.array([timing.clock.offset_s for timing in timings], dtype=float)
    for g in np.unique(which).tolist():
        begin[g] = _median(lag[which == g], given[which == g])
    base = np.zeros(size)
    base[0::2] = begin

    design = np.zeros((len(sights), size))
    rows = np.arange(len(sights))
    design[rows, 2 * which] = 1.0
    design[rows, 2 * which + 1] = (at - reference[which]) * 1e-6
    known, aim = np.zeros((size, size)), np.zeros(size)
    known[np.arange(0, size, 2), np.arange(0, size, 2)] = 1.0 / _FREE_S**2
    known[np.arange(1, size, 2), np.arange(1, size, 2)] = 1.0 / np.array(drifts) ** 2
    for row, value, error in _link_rows(links, reference, size):
        known += np.outer(row, row) / error**2
        aim += row * (value - row @ base) / error**2

    fit, spread, robust = np.zeros(size), _PRIOR_SPREAD_S, given
    freed = len(sights) / max(1.0, len(sights) - float((counts > 0).sum())) if len(sights) else 1.0
    for _ in range(40):
        off = lag - design @ (base + fit)
        if len(sights):
            spread = _scatter(off, given, min(freed, 2.0))
            robust = _trust(off, given, spread)
        normal = known + design.T @ (design * (robust / spread**2)[:, None])
        moved = np.linalg.solve(normal, aim + design.T @ (robust / spread**2 * (lag - design @ base)))
        done = bool(np.allclose(moved, fit, atol=1e-3, rtol=0))
        fit = np.asarray(moved)
        if done:
            break
    normal = known + design.T @ (design * (robust / spread**2)[:, None])
    return _Fit(base + fit, np.asarray(np.linalg.inv(normal), dtype=np.float64), spread, counts)


def _link_rows(links: Sequence[Link], reference: Array, size: int) -> list[tuple[Array, float, float]]:
    """Each tie as two observations: of both clocks at one instant, and of their rates."""
    import numpy as np

    found: list[tuple[Array, float, float]] = []
    for link in links:
        row = np.zeros(size)
        row[2 * link.one], row[2 * link.other] = 1.0, -1.0
        row[2 * link.one + 1] = (link.one_at - reference[link.one]) * 1e-6
        row[2 * link.other + 1] = -(link.other_at - reference[link.other]) * 1e-6
        found.append((row, link.other_at - link.one_at, link.error_s))
        rates = np.zeros(size)
        rates[2 * link.one + 1], rates[2 * link.other + 1] = 1.0, -1.0
        found.append((rates, link.drift_ppm, link.drift_error_ppm))
    return found


def _trust(off: Array, given: Array, spread: float) -> Array:
    """The pairs' weights: Huber's, and falling to nothing from four times the scatter on, where pairs are wrong."""
    import numpy as np

    size = np.abs(off) / spread
    return np.asarray(given * np.minimum(1.0, _HUBER / np.maximum(size, 1e-9)) / (1.0 + (size / _WRONG_AT) ** 4))


def _scatter(off: Array, given: Array, freed: float) -> float:
    """Standard deviation of what is left, leaning on the prior; ``freed`` pays for the fit.

    Residuals beyond twice the one that the median of their sizes gives are cut off there.
    """
    import numpy as np

    limit = (_CUT_AT * max(_median(np.abs(off), given) / 0.6745, 1.0)) ** 2
    square = freed * float((given * np.minimum(off**2, limit)).sum()) / (_CUT_SHARE * float(given.sum()))
    count = float(given.sum())
    return float(np.sqrt((_PRIOR_PAIRS * _PRIOR_SPREAD_S**2 + count * square) / (_PRIOR_PAIRS + count)))


def _tied_together(count: int, links: Sequence[Link]) -> list[set[int]]:
    """For each clock the clocks that it is tied to, itself included."""
    reach = [{g} for g in range(count)]
    for link in links:
        whole = reach[link.one] | reach[link.other]
        for g in whole:
            reach[g] = whole
    return reach


def _timed(g: int, timing: Timing, fit: _Fit, reach: Sequence[set[int]], drift: float) -> Timing:
    import numpy as np

    ppm, own = float(fit.values[2 * g + 1]), int(fit.counts[g])
    all_pairs = int(sum(fit.counts[k] for k in reach[g]))
    points = _student(float(fit.counts.sum()) + _PRIOR_PAIRS - 1)
    error = points * float(np.sqrt(fit.covariance[2 * g, 2 * g]))
    drift_error = 1.96 * float(np.sqrt(fit.covariance[2 * g + 1, 2 * g + 1]))
    spread = min(_LARGEST_SPREAD_S, max(_SMALLEST_SPREAD_S, fit.spread))
    times = "one find" if own == 1 else f"{own} finds"
    grounds = f"{times} named on camera and logged with a time, {fit.spread:.0f} s typical scatter" if own else ""
    words = f"drift {round(ppm):+d} ppm, give or take {drift_error:.0f}"
    if drift > DRIFT_PPM:
        words += ", more than a sound clock's"
    elif drift_error > 0.8 * 1.96 * DRIFT_PPM:
        words += ": the finds tell no more of it than what cameras usually do"
    basis = "; ".join(part for part in (grounds, words if all_pairs else "") if part)
    clock = timing.clock.model_copy(
        update={
            "offset_s": round(float(fit.values[2 * g]), 2),
            "drift_ppm": round(ppm, 1),
            "pairs": own,
            "error_s": round(error, 2) if all_pairs else None,
            "drift_error_ppm": round(drift_error, 1),
            "basis": basis,
        }
    )
    return Timing(clock, timing.reference, spread)


def _median(values: Array, weights: Array) -> float:
    import numpy as np

    order = np.argsort(values, kind="stable")
    sums = np.cumsum(weights[order])
    half = float(sums[-1]) / 2
    low = int(np.searchsorted(sums, half * (1 - 1e-12)))
    high = int(np.searchsorted(sums, half * (1 + 1e-12)))
    last = len(values) - 1
    return float(values[order[min(low, last)]] + values[order[min(high, last)]]) / 2


def _student(freedom: float) -> float:
    whole = max(1, int(freedom))
    return _STUDENT[whole - 1] if whole <= len(_STUDENT) else 1.96 + 2.6 / freedom
