"""How well two cameras are tied to each other by what both heard.

Usage: python -m tests.bench.together [--pairs 12] [--first 500] [--hours 2] FOLDER...

Every audio or video file below the folders is speech to make field sound of (without folders: the example day's
footage). Each pair of recordings is seeded: one talk, two microphones, each with its own echo, noise, level and
distance in time; the second's clock runs up to 100 ppm otherwise and half of the seconds are coded as AAC. Prints the
shift's error, how often its 95 % interval holds, the drift's error on long pairs, overlaps missed by length and by
noise, and false ties of recordings that share nothing, or only music. Seeds below 500 were used while writing.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import numpy as np
from scipy.signal import fftconvolve, resample_poly

from episode.cutting.samples import RATE, Sound
from episode.cutting.together import tie_of
from episode.footage.containers import CLIPS
from tests.bench.cut_films import EXAMPLE, FULL, coded, decode, music, through


def voices(folders: list[Path]) -> list[np.ndarray]:
    files = sorted(p for f in folders for p in f.rglob("*") if p.suffix.lower() in CLIPS)
    return [decode(p, 16_000) for p in files]


def talk(parts: list[np.ndarray], seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Speech with pauses, nothing of it twice until all was said."""
    pieces = [part[k : k + 16_000 * 12] for part in parts for k in range(0, len(part) - 16_000 * 3, 16_000 * 12)]
    order = [int(k) for k in rng.permutation(len(pieces))]
    out, length, said = [], 0, 0
    while length < seconds * 16_000:
        out += [pieces[order[said % len(order)]], np.zeros(int(16_000 * rng.uniform(0.5, 4)), np.float32)]
        length += sum(map(len, out[-2:]))
        said += 1
    return np.concatenate(out)[: int(seconds * 16_000)]


def microphone(sound: np.ndarray, rng: np.random.Generator, snr: float, ppm: float = 0.0) -> np.ndarray:
    """As one camera hears it: an echo of its own, brown noise, a level, its own clock."""
    echo = np.zeros(2400, np.float32)
    echo[0] = 1.0
    echo[rng.integers(80, 2400, 12)] = rng.uniform(-0.3, 0.3, 12)
    heard = fftconvolve(sound, echo)[: len(sound)]
    if ppm:
        where = np.arange(int(len(heard) / (1 + ppm * 1e-6))) * (1 + ppm * 1e-6)
        heard = np.interp(where, np.arange(len(heard)), heard)
    noise = np.cumsum(rng.standard_normal(len(heard) + 800))
    noise = noise[800:] - np.convolve(noise, np.ones(801) / 801, "valid")[: len(heard)]
    level = np.sqrt((heard**2).mean()) * 10 ** (-snr / 20)
    return ((heard + noise / noise.std() * level) * rng.uniform(0.2, 0.8) / max(1e-6, np.abs(heard).max())).astype("f4")


def at_eight(sound: np.ndarray, name: str, aac: str | None = None) -> Sound:
    if aac:
        full = sound.astype(np.float32)
        sound = through(coded(full, "", aac), [], RATE)
    else:
        sound = resample_poly(sound, 1, 2)
    return Sound(name, np.clip(np.rint(sound * 32767), -32768, 32767).astype(np.int16))


def pair(parts: list[np.ndarray], seed: int, overlap: float, snr: float):
    """Two recordings of one talk, the true shift (second 0 of the first in the second's seconds) and drift."""
    rng = np.random.default_rng(seed)
    before, after = rng.uniform(5, 90, 2)
    whole = talk(parts, before + overlap + after, rng)
    ppm = float(rng.uniform(-100, 100))
    one = microphone(whole[: int((before + overlap) * 16_000)], rng, snr)
    two = microphone(whole[int(before * 16_000) :], rng, snr, ppm)
    # A second t of the first is second (t - before) / (1 + ppm) of the second.
    shift, drift = -before / (1 + ppm * 1e-6), 1 / (1 + ppm * 1e-6) - 1
    return at_eight(one, "one"), at_eight(two, "two", "48k" if seed % 2 else None), shift, drift * 1e6, before, overlap


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folders", nargs="*", type=Path, default=[EXAMPLE])
    parser.add_argument("--pairs", type=int, default=12)
    parser.add_argument("--first", type=int, default=500)
    parser.add_argument("--hours", type=float, default=2.0)
    told = parser.parse_args()
    parts = voices(told.folders)
    print(
        f"{'overlap s':>9} {'noise dB':>8} {'found':>7} {'error ms: median':>16} {'p95':>6} {'worst':>6} {'holds':>6} {'took s':>7}"
    )
    for overlap in (10.0, 20.0, 60.0, 300.0):
        for snr in (20.0, 6.0, 0.0):
            errors, holds, took = [], 0, 0.0
            for seed in range(told.first, told.first + told.pairs):
                one, two, shift, drift, before, long = pair(parts, seed, overlap, snr)
                began = time.monotonic()
                tie = tie_of(one, two)
                took += time.monotonic() - began
                if tie is None:
                    continue
                middle = before + long / 2
                true = middle * (1 + drift * 1e-6) + shift
                errors.append(abs(middle * (1 + tie.drift_ppm * 1e-6) + tie.shift_s - true))
                holds += errors[-1] <= tie.error_s
            ms = np.array(errors) * 1000 if errors else np.array([np.nan])
            print(
                f"{overlap:9.0f} {snr:8.0f} {len(errors):3d}/{told.pairs:<3d} {np.median(ms):16.1f} "
                f"{np.quantile(ms, 0.95):6.1f} {ms.max():6.1f} {holds:3d}/{len(errors):<3d} {took / told.pairs:6.1f}",
                flush=True,
            )
    if told.hours:
        one, two, shift, drift, before, long = pair(parts, told.first, told.hours * 3600, 10.0)
        began = time.monotonic()
        tie = tie_of(one, two)
        took = time.monotonic() - began
        print(
            f"{told.hours:g} h: "
            + (
                "missed"
                if tie is None
                else f"drift off by {abs(tie.drift_ppm - drift):.2f} ppm, shift at second 0 by {abs(tie.shift_s - shift) * 1000:.1f} ms"
            )
            + f"; {took:.0f} s"
        )
    false = {"other talk": 0, "other talk, the same music": 0, "other talk, the same jingle of 10 s": 0}
    for seed in range(told.first, told.first + told.pairs):
        for kind in false:
            rng = np.random.default_rng(seed + 50_000)
            half = len(parts) // 2 or 1
            one, two = talk(parts[:half], 120, rng), talk(parts[half:] or parts, 120, rng)
            # A little higher: a sentence that stands in the folder twice, in one voice, is not the same sound then.
            two = resample_poly(two, 29, 30)
            if kind != "other talk":
                bed = music(FULL * 100, rng)
                bed = bed / bed.std() * one.std() * 0.7
                size = len(bed) if "music" in kind else 160_000
                for sound in (one, two):
                    at = int(rng.integers(0, len(sound) - min(size, len(sound)) + 1))
                    sound[at : at + size] = sound[at : at + size] + bed[: len(sound[at : at + size])]
            false[kind] += (
                tie_of(at_eight(microphone(one, rng, 15), "one"), at_eight(microphone(two, rng, 15), "two")) is not None
            )
    for kind, count in false.items():
        print(f"false ties, {kind}: {count} of {told.pairs}")


if __name__ == "__main__":
    main()
