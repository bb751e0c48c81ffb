"""One clock a camera: what to add to its time to get the log's, how surely, and on what grounds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from episode.models import Clock

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FIRST_SPREAD_S = 40.0
"""How far logging strays from naming before the day's own pairs tell."""
_SMALLEST_SPREAD_S = 8.0
_LARGEST_SPREAD_S = 90.0
_HUBER = 1.345
_PRIOR_SPREAD_S = 20.0
_PRIOR_PAIRS = 2.0
_DRIFT_PAIRS = 8
_DRIFT_SPAN_S = 7200.0
_DRIFT_CERTAINTY = 3.5
_MOST_DRIFT_PPM = 2000.0
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


def unknown_clock(camera: str, clip: str | None, reference: float, basis: str, offset: float = 0.0) -> Timing:
    """A clock that nothing is known of, or that is only tried out."""
    return Timing(Clock(camera=camera, clip=clip, offset_s=offset, basis=basis), reference)


def measure(timing: Timing, camera_at: Sequence[float], logged_at: Sequence[float], weights: Sequence[float]) -> Timing:
    """Measure a clock on its pairs; robust against wrong ones.

    Offset, and drift where the day is long enough to tell it, by iteratively reweighted least squares with
    Huber's weights (Huber 1964; from memory). ``weights`` are the pairs' probabilities. The interval is
    Student's, with a spread that leans on a prior of 20 s worth two pairs, so that two pairs that happen to
    agree do not claim certainty.
    """
    import numpy as np

    at = np.asarray(camera_at, dtype=float) - timing.reference
    lag = np.asarray(logged_at, dtype=float) - np.asarray(camera_at, dtype=float)
    given = np.asarray(weights, dtype=float)
    line = _huber(at, lag, given, slope=False)
    drift, words = 0.0, "drift not measurable on so few pairs or so short a day, taken as none"
    if len(at) >= _DRIFT_PAIRS and float(at.max() - at.min()) >= _DRIFT_SPAN_S:
        sloped = _huber(at, lag, given, slope=True)
        ppm, doubt = sloped.slope * 1e6, sloped.slope_error * 1e6
        if abs(ppm) > _DRIFT_CERTAINTY * doubt and abs(ppm) <= _MOST_DRIFT_PPM:
            line, drift = sloped, ppm
            words = f"drift {ppm:+.0f} ppm, give or take {2 * doubt:.0f}"
        else:
            words = f"drift too small to tell (below about {abs(ppm) + 2 * doubt:.0f} ppm), taken as none"
    count = len(at)
    freedom = count + _PRIOR_PAIRS - 1
    spread = float(np.sqrt((_PRIOR_PAIRS * _PRIOR_SPREAD_S**2 + count * line.spread**2) / (_PRIOR_PAIRS + count)))
    error = _student(freedom) * spread * line.leverage
    times = "one find" if count == 1 else f"{count} finds"
    basis = f"{times} named on camera and logged with a time, {line.spread:.0f} s typical scatter; {words}"
    clock = timing.clock.model_copy(
        update={
            "offset_s": round(line.offset, 2),
            "drift_ppm": round(drift, 1),
            "pairs": count,
            "error_s": round(error, 2),
            "basis": basis,
        }
    )
    return Timing(clock, timing.reference, min(_LARGEST_SPREAD_S, max(_SMALLEST_SPREAD_S, spread)))


@dataclass(frozen=True)
class _Line:
    offset: float
    slope: float
    slope_error: float
    spread: float
    leverage: float
    """Standard error of the offset for a spread of one."""


def _huber(at: NDArray[np.float64], lag: NDArray[np.float64], given: NDArray[np.float64], *, slope: bool) -> _Line:
    import numpy as np

    centre = float((at * given).sum() / given.sum())
    design = np.stack([np.ones_like(at), at - centre], axis=1) if slope else np.ones((len(at), 1))
    fit: NDArray[np.float64] = np.zeros(design.shape[1])
    fit[0] = _median(lag, given)
    robust, spread = given, _SMALLEST_SPREAD_S
    for _ in range(30):
        off = lag - design @ fit
        spread = max(_median(np.abs(off), given) / 0.6745, 1.0)
        robust = np.asarray(given * np.minimum(1.0, _HUBER * spread / np.maximum(np.abs(off), 1e-9)), dtype=float)
        normal = design.T @ (design * robust[:, None]) + np.diag([1e-12] * design.shape[1])
        moved = np.linalg.solve(normal, design.T @ (robust * lag))
        done = bool(np.allclose(moved, fit, atol=1e-3, rtol=0))
        fit = np.asarray(moved, dtype=np.float64)
        if done:
            break
    bread = np.linalg.inv(design.T @ (design * robust[:, None]) + np.diag([1e-12] * design.shape[1]))
    cover = bread @ (design.T @ (design * (robust**2)[:, None])) @ bread
    # The offset is told at the reference, where ``at`` is 0.
    here = np.array([1.0, -centre]) if slope else np.ones(1)
    tilt = float(fit[1]) if slope else 0.0
    return _Line(
        offset=float(here @ fit),
        slope=tilt,
        slope_error=float(np.sqrt(cover[1, 1])) * spread if slope else 0.0,
        spread=spread,
        leverage=float(np.sqrt(max(float(here @ cover @ here), 0.0))),
    )


def _median(values: NDArray[np.float64], weights: NDArray[np.float64]) -> float:
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
