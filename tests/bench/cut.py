"""How well a finished cut is traced back to its raw clips.

Usage: python tests/bench/cut.py [--seeds 3] [--first 100] FOLDER...

Every audio or video file below the folders is speech (or sound) to make raw clips of; without folders the example
day's footage is taken. Raw clips get a bed of noise of their own, down to 20 dB under the voice; cuts are seeded.
Prints, for each treatment, the share of seconds within 40 ms of their true source, the error of hard joints, and
how much foreign sound was claimed.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from episode.cutting.samples import RATE, Sound
from episode.cutting.trace import trace_sound
from episode.footage.containers import CLIPS
from episode.footage.tools import ffmpeg

EXAMPLE = Path(__file__).parents[2] / "examples" / "2026-05-03-skelby-sands" / "footage"
FULL = 48_000

TREATMENTS: dict[str, dict] = {
    "clean": {},
    "aac, eq, compressed": {
        "filter": "equalizer=f=300:t=h:w=200:g=-4,equalizer=f=3000:t=h:w=1500:g=5,acompressor=threshold=0.1:ratio=4,loudnorm=I=-16",
        "aac": "96k",
    },
    "music 6 dB under": {"music": -6, "aac": "128k"},
    "music as loud": {"music": 0, "aac": "128k"},
    "resampled 2 %": {"filter": f"asetrate={round(FULL * 1.02)},aresample={FULL}", "speed": 1.02, "aac": "128k"},
    "stretched 2 %": {"filter": "atempo=1.02", "speed": 1.02, "aac": "128k"},
    "stretched 10 %": {"filter": "atempo=1.10", "speed": 1.10, "aac": "128k"},
    "denoised, gated": {"filter": "afftdn=nr=20:nf=-35,agate=threshold=0.01:ratio=4", "aac": "128k"},
    "pieces 1.5 to 4 s": {"lengths": (1.5, 4.0), "aac": "128k"},
    "pieces 0.7 to 1.5 s": {"lengths": (0.7, 1.5), "aac": "128k"},
}


def decode(path: Path, rate: int) -> np.ndarray:
    ran = subprocess.run(
        [str(ffmpeg().path), "-nostdin", "-v", "error", "-i", f"file:{path}", "-vn", "-ac", "1", "-ar", str(rate), "-f", "f32le", "-"],
        stdin=subprocess.DEVNULL, capture_output=True, check=True,
    )  # fmt: skip
    return np.frombuffer(ran.stdout, "<f4")


def through(samples: np.ndarray, arguments: list[str], rate: int = FULL) -> np.ndarray:
    ran = subprocess.run(
        [str(ffmpeg().path), "-v", "error", "-f", "f32le", "-ar", str(FULL), "-ac", "1", "-i", "-", *arguments, "-ac", "1", "-ar", str(rate), "-f", "f32le", "-"],
        input=samples.astype("<f4").tobytes(), capture_output=True, check=True,
    )  # fmt: skip
    return np.frombuffer(ran.stdout, "<f4")


def coded(samples: np.ndarray, filters: str, bits: str | None) -> np.ndarray:
    out = through(samples, ["-af", f"{filters},aresample={FULL}"]) if filters else samples
    if bits:
        with tempfile.TemporaryDirectory() as scratch:
            film = Path(scratch) / "film.m4a"
            subprocess.run(
                [str(ffmpeg().path), "-v", "error", "-f", "f32le", "-ar", str(FULL), "-ac", "1", "-i", "-", "-c:a", "aac", "-b:a", bits, str(film)],
                input=out.astype("<f4").tobytes(), check=True,
            )  # fmt: skip
            out = decode(film, FULL)
    return out


def raw_clips(folders: list[Path], seed: int, count: int) -> list[np.ndarray]:
    """Speech in random order, joined into ``count`` clips with pauses, each over noise of its own."""
    rng = np.random.default_rng(seed)
    files = sorted(p for f in folders for p in f.rglob("*") if p.suffix.lower() in CLIPS)
    if not files:
        sys.exit("no sound there to make raw clips of")
    voices = [decode(p, FULL) for p in files]
    rng.shuffle(voices)
    clips = []
    for part in range(count):
        bits = []
        for voice in voices[part::count]:
            bits += [voice, np.zeros(int(FULL * rng.uniform(0.2, 0.9)), np.float32)]
        if not bits:
            continue
        clip = np.concatenate(bits)
        noise = np.cumsum(rng.standard_normal(len(clip) + 4800)).astype(np.float32)
        noise = noise[4800:] - np.convolve(noise, np.ones(4801) / 4801, "valid")[: len(clip)]
        level = np.sqrt((clip**2).mean()) * 10 ** (rng.uniform(-20, -10) / 20)
        clips.append((clip + noise / noise.std() * level).astype(np.float32))
    return clips


def music(length: int, rng: np.random.Generator) -> np.ndarray:
    """Chords of a few partials, a new one every half second or so."""
    out = np.zeros(length, np.float32)
    at = 0
    while at < length:
        size = int(FULL * rng.choice([0.25, 0.5, 0.75, 1.0]))
        t = np.arange(min(size, length - at)) / FULL
        for note in rng.choice([0, 2, 4, 5, 7, 9, 11, 12, 14, 16], 3, replace=False):
            base = 196 * 2 ** (note / 12)
            for partial in range(1, 7):
                out[at : at + len(t)] += np.sin(2 * np.pi * base * partial * t) / partial * np.exp(-2 * t)
        at += size
    return out


def make_cut(clips: list[np.ndarray], how: dict, seed: int, foreign: np.ndarray | None):
    """A cut and its true pieces: (cut seconds begin, end, clip or None, clip seconds begin) before any speed."""
    rng = np.random.default_rng(seed)
    low, high = how.get("lengths", (3.0, 15.0))
    parts, truth, at = [], [], 0
    for number in range(24):
        if foreign is not None and number in (7, 15):
            size = min(len(foreign), int(FULL * rng.uniform(4, 7)))
            begin = int(rng.integers(0, len(foreign) - size + 1))
            parts.append(foreign[begin : begin + size])
            truth.append((at / FULL, (at + size) / FULL, None, 0.0))
        else:
            which = int(rng.integers(len(clips)))
            size = min(int(FULL * rng.uniform(low, high)), len(clips[which]) - 1)
            begin = int(rng.integers(0, len(clips[which]) - size))
            parts.append(clips[which][begin : begin + size])
            truth.append((at / FULL, (at + size) / FULL, which, begin / FULL))
        at += size
    cut = np.concatenate(parts)
    if "music" in how:
        bed = music(len(cut), rng)
        cut = cut + bed / bed.std() * cut.std() * 10 ** (how["music"] / 20)
    cut = cut / max(1.0, np.abs(cut).max() * 1.05)
    return coded(cut, how.get("filter", ""), how.get("aac")), truth


def small(samples: np.ndarray, name: str) -> Sound:
    eight = through(samples, [], RATE)
    return Sound(name, np.clip(np.rint(eight * 32767), -32768, 32767).astype(np.int16))


def score(pieces, truth, speed: float):
    right = known = claimed = foreign = 0
    errors = []
    end = truth[-1][1] / speed
    for t in np.arange(0.02, end, 0.04):
        true = next(x for x in truth if x[0] / speed <= t < x[1] / speed + 1e-9)
        said = next((p for p in pieces if p.cut_start <= t < p.cut_end), None)
        name = said.clip if said else None
        if true[2] is None:
            foreign += 1
            claimed += name is not None
            continue
        known += 1
        where = true[3] + t * speed - true[0]
        if name == str(true[2]) and abs(said.clip_start + (t - said.cut_start) * said.speed - where) <= 0.04:
            right += 1
    joints = [p.cut_start for p in pieces[1:]]
    errors = [min((abs(j - x[0] / speed) for j in joints), default=9.0) for x in truth[1:]]
    return right, known, claimed, foreign, errors


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folders", nargs="*", type=Path, default=[EXAMPLE])
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--first", type=int, default=100)
    parser.add_argument("--clips", type=int, default=5)
    parser.add_argument("--only", default="")
    told = parser.parse_args()
    print(
        f"{'treatment':24} {'right':>6} {'joint median':>12} {'p90':>6} {'foreign claimed':>16} {'raw s':>6} {'cut s':>6} {'took s':>7}"
    )
    for name, how in TREATMENTS.items():
        if told.only not in name:
            continue
        totals, errors, took, raw, length = np.zeros(4), [], 0.0, 0.0, 0.0
        for seed in range(told.first, told.first + told.seeds):
            *clips, foreign = raw_clips(told.folders, seed, told.clips + 1)
            cut, truth = make_cut(clips, how, seed, foreign)
            sounds = [small(c, str(k)) for k, c in enumerate(clips)]
            heard = small(cut, "cut")
            began = time.monotonic()
            pieces = trace_sound(heard, sounds)
            took += time.monotonic() - began
            raw += sum(s.duration for s in sounds)
            length += heard.duration
            *counts, off = score(pieces, truth, how.get("speed", 1.0))
            totals += counts
            errors += off
        claimed = f"{totals[2] / totals[3]:.3f}" if totals[3] else "-"
        print(
            f"{name:24} {totals[0] / totals[1]:6.3f} {np.median(errors):12.3f} {np.percentile(errors, 90):6.3f}"
            f" {claimed:>16} {raw:6.0f} {length:6.0f} {took:7.1f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
