"""The cameras' clocks on made-up days: how near to what could be known at all, and whether the intervals hold.

    python tests/bench/clocks.py [--days 500] [--first-seed 5000]

Days come from ``tests/matching/simulate.py``: two cameras, some six hours, each camera's clock wrong in one of
eight ways alike (to a day and more), drift to 100 ppm, 10 s of logging jitter, 30 % wrong mentions (15 % beside the
true one, 15 % in its place), 30 % of rows without a time, batches, swapped rows. Seeds below 1000 were used while
writing the room; the reported ones begin at 5000.

The bound: what an oracle could know that is told every true pair, which rows were written in batches, and the
jitter. Its observations are linear in offset and drift, with independent normal errors of 10 s (with whole minutes
the 60 s / sqrt(12) of a cut minute added in squares), and drift has the normal prior of 35 ppm: the posterior
covariance is the inverse of (X' X / s^2 + prior precision), which no estimator's mean square error goes below
(the Bayesian Cramér-Rao bound, van Trees 1968, here attained, being linear and normal; from memory). The offset is
compared where it is reported: at the beginning of the camera's first clip. Where that oracle has no pair there is
no bound, and the clock counts only among those that cannot be known.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "matching"))

from simulate import MORNING, Day, Plan, simulate  # noqa: E402

from episode.matching.match import match  # noqa: E402
from episode.models import Clock  # noqa: E402

DAYS = Plan(
    finds=40, cameras=2, wrong=0.15, misheard=0.15, untimed=0.3, unlogged=0.15, unfilmed=0.15, batches=1, swaps=0.1,
    renamed=0.4, gap=(120, 4500), drift_spread=35.0, spread_out=True,
)  # fmt: skip
PLANS = {
    "as the issue has it": DAYS,
    "drift evenly within 100 ppm": replace(DAYS, drift_spread=-1.0),
    "whole minutes": replace(DAYS, minutes=True),
    "few finds": replace(DAYS, finds=7),
    "tied by sound, 1 in 10 wrongly": replace(DAYS, cameras=2, twins=0.4, false_ties=0.1),
}
PRIOR_PPM = 35.0
FOUND_S = 120.0


@dataclass(frozen=True)
class Seen:
    """One clock against the truth; ``bound`` and ``drift_bound`` are the oracle's standard errors."""

    kind: str
    off: float
    drift_off: float
    bound: float
    drift_bound: float
    pairs: int
    clock: Clock


def look(day: Day, clock: Clock, plan: Plan) -> Seen:
    """Compare a clock with the truth at the beginning of its camera's first clip."""
    first = min(c.start for c in day.clips if c.camera == clock.camera)
    offset, drift = day.offsets[clock.camera], day.drifts[clock.camera]
    camera = (first - MORNING).total_seconds()
    # The simulator counts drift in true seconds: camera = true - offset - drift * true.
    true = (camera + offset) / (1 - drift * 1e-6)
    bound, drift_bound, pairs = oracle(day, clock.camera, first.timestamp(), plan)
    own = clock.drift_ppm
    return Seen(
        day.slips[clock.camera], clock.offset_s - (true - camera), own - drift, bound, drift_bound, pairs, clock
    )


def oracle(day: Day, camera: str, reference: float, plan: Plan) -> tuple[float, float, int]:
    """Standard errors of offset and drift for one who knows the true pairs, and how many these are."""
    clips = {c.name: c for c in day.clips}
    rows = {row.find: row for row in day.log}
    at = [
        clips[clip].start.timestamp() + second - reference
        for (clip, second), find in day.truth.items()
        if clips[clip].camera == camera and rows[find].time is not None and find not in day.batched
    ]
    variance = plan.jitter**2 + (300.0 if plan.minutes else 0.0)
    design = np.stack([np.ones(len(at)), np.array(at) * 1e-6], axis=1) if at else np.zeros((0, 2))
    normal = design.T @ design / variance + np.diag([1e-14, 1.0 / PRIOR_PPM**2])
    cover = np.linalg.inv(normal)
    return float(cover[0, 0] ** 0.5), float(cover[1, 1] ** 0.5), len(at)


def report(name: str, plan: Plan, count: int, first: int) -> None:
    """All figures of one kind of day."""
    seen: list[Seen] = []
    took, contradicted, tied = 0.0, 0, 0
    for seed in range(first, first + count):
        day = simulate(seed, plan)
        began = time.perf_counter()
        matched = match(day.mentions, day.transcript, day.log, day.clips, day.lexicon, ties=day.ties)
        took += time.perf_counter() - began
        seen += [look(day, clock, plan) for clock in matched.clocks if clock.clip is None]
        tied += len(day.ties)
        contradicted += sum("this tie was left out" in p.what for p in matched.problems)
    print(f"{name}: {count} days, {len(seen)} clocks, {took / count * 1000:.0f} ms a day")
    known = [s for s in seen if s.clock.known]
    bounded = [s for s in seen if s.pairs and (not plan.twins or s.clock.known)]
    if not plan.twins:
        share = np.array([s.off / s.bound for s in bounded])
        sure = np.array([s.off / s.bound for s in bounded if s.clock.known])
        print(
            f"  offset over bound: median {np.median(np.abs(share)) / 0.6745:.2f}, RMS of those known "
            f"{rms(sure):.2f} ({len(sure)} clocks), RMS of all with a true pair {rms(share):.2f} ({len(share)}); "
            f"median error {np.median(np.abs([s.off for s in bounded])):.1f} s, "
            f"median bound {np.median([s.bound for s in bounded]):.1f} s"
        )
        drift = np.array([s.drift_off / s.drift_bound for s in bounded])
        print(f"  drift over bound: RMS {rms(drift):.2f} (bound {np.median([s.drift_bound for s in bounded]):.0f} ppm)")
    held = [s for s in seen if s.clock.error_s is not None]
    print(
        f"  95 % intervals hold: offset {told([s for s in held if s.clock.known], offset_held)} known, "
        f"{told([s for s in held if not s.clock.known], offset_held)} not known; "
        f"drift {told([s for s in seen if s.clock.drift_error_ppm is not None], drift_held)}"
    )
    print(
        f"  said to be known {len(known)}, of these wrong by more than {FOUND_S:.0f} s "
        f"{sum(abs(s.off) > FOUND_S for s in known)} (worst {max((abs(s.off) for s in known), default=0):.0f} s); "
        f"not known {len(seen) - len(known)}, of these right all the same "
        f"{sum(abs(s.off) <= FOUND_S for s in seen if not s.clock.known)}; "
        f"with no interval {len(seen) - len(held)}"
    )
    kinds: dict[str, list[Seen]] = {}
    for s in seen:
        kinds.setdefault(s.kind, []).append(s)
    print(
        "  found (within 120 s), of those with 4 true pairs or more: "
        + ", ".join(f"{kind} {found(inside, 4)}" for kind, inside in sorted(kinds.items()))
    )
    print("  with 1 to 3: " + ", ".join(f"{kind} {found(inside, 1, 3)}" for kind, inside in sorted(kinds.items())))
    if plan.twins:
        bare = [s for s in seen if s.clock.camera == "camx" and s.clock.known]
        print(
            f"  ties left out {contradicted} of {tied}; "
            f"the camera without a find: {len(bare)} clocks known through others, error median "
            f"{np.median(np.abs([s.off for s in bare] or [0])):.1f} s, worst {max((abs(s.off) for s in bare), default=0):.0f} s"
        )


def rms(values: np.ndarray) -> float:
    """Root of the mean square."""
    return float(np.sqrt(np.mean(values**2))) if len(values) else float("nan")


def offset_held(s: Seen) -> bool:
    """Whether the offset's interval holds the truth."""
    return s.clock.error_s is not None and abs(s.off) <= s.clock.error_s


def drift_held(s: Seen) -> bool:
    """Whether the drift's interval holds the truth."""
    return s.clock.drift_error_ppm is not None and abs(s.drift_off) <= s.clock.drift_error_ppm


def told(inside: list[Seen], held) -> str:  # type: ignore[no-untyped-def]
    """How many hold, and their share."""
    right = sum(held(s) for s in inside)
    return f"{right}/{len(inside)}" + (f" ({right / len(inside):.1%})" if inside else "")


def found(inside: list[Seen], least: int, most: int = 10**6) -> str:
    """How many were found, and how many of the rest were said not to be known."""
    wanted = [s for s in inside if least <= s.pairs <= most]
    right = [s for s in wanted if abs(s.off) <= FOUND_S]
    owned = [s for s in wanted if abs(s.off) > FOUND_S and not s.clock.known]
    said = f" (+{len(owned)} said unknown)" if owned else ""
    return f"{len(right)}/{len(wanted)}{said}"


def main() -> None:
    """Print all figures."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--days", type=int, default=500)
    parser.add_argument("--first-seed", type=int, default=5000)
    parser.add_argument("--only", default="")
    given = parser.parse_args()
    print(f"seeds {given.first_seed} to {given.first_seed + given.days - 1}")
    for name, plan in PLANS.items():
        if given.only in name:
            report(name, plan, given.days, given.first_seed)


if __name__ == "__main__":
    main()
