"""How well a finished cut is traced back to its raw clips.

Usage: python -m tests.bench.cut [FOLDER...] [--cuts 40] [--minutes 20] [--raw 60] [--first 500] [--only NAME]
       python -m tests.bench.cut --speed [FOLDER...]

Every audio or video file below the folders is speech (or sound) to make raw clips of; without folders the example
day's footage is taken. Cut ``k`` has treatment ``k`` (they come round again) and seed ``first + k``; the raw sound has
seed ``first``. For each cut: median error of what is attributed rightly; share of seconds within 40 ms of their true
source; errors of the joints (cross-fades from their centre); how many stretches of foreign sound were found; foreign
seconds attributed more than 0.3 s from a joint; share of the rightly attributed that is flagged all the same; share of the missing camera's seconds flagged or from nowhere; and
wrongly placed pieces, with and without a flag. ``--speed``: six hours of compressed clips against a film of 20
minutes, in seconds and peak memory, decoding included.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import numpy as np

from episode.cutting.pieces import CutPiece
from episode.cutting.samples import RATE, Sound
from episode.cutting.trace import trace_sound
from tests.bench.cut_films import EXAMPLE, FULL, TREATMENTS, Raw, Stretch, encode, make_film, raw_sound, through, whole

GOALS = {
    **dict.fromkeys(("clean", "re-encoded", "eq, compressed, loudness", "music 6 dB under"), 0.99),
    "pieces 1.5 to 4 s": 0.97,
}
HEADS = f"{'treatment':25} {'error':>6} {'40 ms':>6} {'goal':>4} {'joints':>6} {'p90':>6} {'found':>7} {'foreign':>8} {'doubted':>7} {'missing':>7} {'wrong':>6} {'unsaid':>6} {'took':>6}"


@dataclass
class Score:
    known: int = 0
    right: int = 0
    off: list[float] = field(default_factory=list)
    joints: list[float] = field(default_factory=list)
    foreign: int = 0
    found: int = 0
    claimed_s: float = 0.0
    doubted: int = 0
    lost: int = 0
    told: int = 0
    wrong: int = 0
    unsaid: int = 0
    cases: list[str] = field(default_factory=list)


def judge(pieces: list[CutPiece], truth: list[Stretch], raw: Raw, speed: float) -> Score:
    score = Score()
    step = 0.04
    end = truth[-1].end / speed
    times = np.arange(step / 2, end, step)
    true_of = np.searchsorted([t.begin / speed for t in truth], times, side="right") - 1
    said_of = np.searchsorted([p.cut_start for p in pieces], times, side="right") - 1
    bad = np.zeros(len(pieces))
    held = np.zeros(len(pieces))
    claimed = np.zeros(len(truth))
    size = np.zeros(len(truth))
    for t, true_number, said_number in zip(times, true_of, said_of, strict=True):
        true, said = truth[true_number], pieces[said_number]
        follows = truth[true_number + 1].fade / 2 if true_number + 1 < len(truth) else 0.0
        if t * speed - true.begin < true.fade / 2 or true.end - t * speed < follows:
            continue  # inside a cross-fade
        size[true_number] += 1
        held[said_number] += 1
        if true.clip is None:
            claimed[true_number] += said.clip is not None
            away = min(t - true.begin / speed, true.end / speed - t)
            if said.clip is not None:
                bad[said_number] += 1
                score.claimed_s += step * (away > 0.3)
            continue
        if true.lost:
            score.lost += 1
            good = said.clip is None or bool(said.flags)
            score.told += good
            bad[said_number] += said.clip is not None
            continue
        where = true.at + t * speed - true.begin
        around = raw.clips[true.clip][int((where - 0.05) * FULL) : int((where + 0.05) * FULL)]
        if len(around) and not around.any():
            continue  # digital silence is from anywhere
        score.known += 1
        off = abs(said.clip_start + (t - said.cut_start) * said.speed - where) if said.clip == true.clip else 9.0
        score.right += off <= 0.04
        score.doubted += off <= 0.04 and bool(set(said.flags) - {"stretched"})
        if off < 0.5:
            score.off.append(off)
        if said.clip is not None and off > 0.1:
            bad[said_number] += 1
    joints = np.asarray([p.cut_start for p in pieces[1:]])
    for before, t in pairwise(truth):
        if before.lost or t.lost or before.clip is t.clip is None:
            continue  # no joint to be seen
        score.joints.append(float(np.abs(joints - t.begin / speed).min()) if len(joints) else 9.0)
    for number, t in enumerate(truth):
        if t.clip is None and size[number] * step > 1:
            score.foreign += 1
            score.found += claimed[number] < 0.5 * size[number]
    for piece, wrong, whole_ in zip(pieces, bad, held, strict=True):
        if piece.clip is not None and whole_ and wrong > 0.5 * whole_:
            score.wrong += 1
            score.unsaid += not piece.flags
            score.cases.append(str(piece))
    return score


def line(name: str, s: Score, took: float) -> str:
    goal = f"{GOALS[name]:.2f}" if name in GOALS else ""
    missing = f"{s.told / s.lost:.3f}" if s.lost else "-"
    median = f"{np.median(s.off):.4f}" if s.off else "-"
    right = f"{s.right / s.known:.3f}" if s.known else "-"
    joints = (np.median(s.joints), np.percentile(s.joints, 90)) if s.joints and s.known else (0, 0)
    return (
        f"{name:25} {median:>6} {right:>6} {goal:>4} {joints[0]:6.3f} {joints[1]:6.3f} {f'{s.found}/{s.foreign}':>7}"
        f" {s.claimed_s:6.2f} s {s.doubted / max(1, s.right):7.3f} {missing:>7} {s.wrong:6d} {s.unsaid:6d} {took:5.1f}s"
    )


def small(samples: np.ndarray, name: str) -> Sound:
    """As the program decodes it: 16-bit mono at its rate."""
    samples = samples.astype(np.float32) / 32768 if samples.dtype == np.int16 else samples
    return Sound(name, whole(through(samples, [], RATE)))


def cuts(told: argparse.Namespace) -> None:
    raw = raw_sound(told.folders, told.first, told.raw)
    sounds = {name: small(sound, name) for name, sound in raw.clips.items()}
    print(f"{sum(s.duration for s in sounds.values()) / 60:.0f} minutes of raw sound in {len(sounds)} clips; cuts of {told.minutes:g} minutes")  # fmt: skip
    print(HEADS, flush=True)
    kinds = list(TREATMENTS)
    total, seconds = Score(), 0.0
    for number in range(told.cuts):
        name = kinds[number % len(kinds)]
        if told.only and not any(o in name for o in told.only.split("|")):
            continue
        how = TREATMENTS[name]
        film, truth = make_film(raw, how, told.first + number, told.minutes)
        heard = small(film, "cut")
        given = [s for n, s in sounds.items() if n != how.get("missing")]
        began = time.monotonic()
        pieces = trace_sound(heard, given)
        took = time.monotonic() - began
        score = judge(pieces, truth, raw, how.get("speed", 1.0))
        print(line(name, score, took), flush=True)
        if told.cases:
            print(*score.cases, sep="\n", flush=True)
        for key, value in vars(score).items():
            setattr(total, key, getattr(total, key) + value)
        seconds += took
    print(line("all", total, seconds))


def speed(told: argparse.Namespace) -> None:
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "footage"
        folder.mkdir()
        raw = raw_sound(told.folders, told.first, 60)
        rng = np.random.default_rng(told.first)
        for hour in range(6):
            for name, sound in raw.clips.items():
                # Later hours are the first's sound turned round, which is as many landmarks and none of the same.
                heard = (sound if hour == 0 else np.roll(sound[::-1], hour * 977)).astype(np.float32) / 32768
                heard = heard + rng.standard_normal(len(heard)).astype(np.float32) * 0.004 * hour
                encode(heard, folder / f"{hour}-{name}.m4a", "96k", 48_000)
        film, _ = make_film(raw, TREATMENTS["music 6 dB under"], told.first, 20)
        encode(film, Path(scratch) / "film.m4a", "128k", 48_000)
        print(
            subprocess.run([sys.executable, "-c", _ALONE, scratch], capture_output=True, check=True, text=True).stdout
        )


_ALONE = """
import sys, time
from pathlib import Path
from episode.cutting.trace import trace
from episode.day.settings import read_settings
from episode.footage.survey import survey
day = Path(sys.argv[1])
clips, _ = survey(day, read_settings(day))
began = time.monotonic()
traced = trace(day / "film.m4a", clips)
took = time.monotonic() - began
peak = int(next(l for l in open("/proc/self/status") if l.startswith("VmHWM")).split()[1]) / 2**20
known = sum(p.cut_end - p.cut_start for p in traced.pieces if p.clip)
print(f"{sum(c.duration for c in clips) / 3600:.2f} h of raw sound in {len(clips)} clips, a film of {traced.duration / 60:.1f} min:"
      f" {took:.0f} s, {peak:.2f} GiB; {known / traced.duration:.3f} of it attributed")
"""


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folders", nargs="*", type=Path, default=[EXAMPLE])
    parser.add_argument("--cuts", type=int, default=40)
    parser.add_argument("--minutes", type=float, default=20)
    parser.add_argument("--raw", type=float, default=60, help="minutes of raw sound")
    parser.add_argument("--first", type=int, default=500)
    parser.add_argument("--only", default="", help="treatments whose names hold this (several with |)")
    parser.add_argument("--cases", action="store_true", help="print wrongly placed pieces")
    parser.add_argument("--speed", action="store_true")
    told = parser.parse_args()
    speed(told) if told.speed else cuts(told)


if __name__ == "__main__":
    main()
