"""The day's sound: the voice over wind, birds or a boat, with footsteps in mud while nobody talks."""

from __future__ import annotations

import subprocess
from pathlib import Path

import imageio_ffmpeg
import numpy as np
from timeline import Timeline
from voice import RATE

NOISE = Path(__file__).parent / "noise"
SPEECH_RMS = 0.07
NOISE_RMS = {"wind": 0.011, "birds": 0.009, "boat": 0.012}
"""Some 16 to 18 dB under the voice: a microphone in a breeze, not a studio."""


def mix(timeline: Timeline, seed: int) -> np.ndarray:
    """The clip's whole sound, float32 mono at ``RATE``."""
    rng = np.random.default_rng(seed)
    length = round(timeline.duration * RATE)
    track = _bed(timeline.script.noise, length, rng)
    for placed in timeline.placed:
        voice = placed.samples * (SPEECH_RMS / _rms(placed.samples)) * rng.uniform(0.8, 1.15)
        at = round(placed.begins * RATE)
        track[at : at + len(voice)] += voice
    for begin, seconds in timeline.walks:
        _tread(track, begin, seconds, rng)
    return (np.tanh(track / 0.9) * 0.9).astype(np.float32)


def _bed(name: str, length: int, rng: np.random.Generator) -> np.ndarray:
    """The noise repeated with cross-fades, rising and falling slowly as wind does."""
    piece = _decode(NOISE / f"{name}.opus")
    piece = piece * (NOISE_RMS[name] / _rms(piece))
    fade = RATE
    ramp = np.linspace(0, 1, fade)
    loop = piece.copy()
    bed = loop[:0]
    while len(bed) < length:
        if len(bed):
            joint = bed[-fade:] * np.sqrt(1 - ramp) + loop[:fade] * np.sqrt(ramp)
            bed = np.concatenate([bed[:-fade], joint, loop[fade:]])
        else:
            bed = loop
    swell = np.interp(
        np.arange(length) / RATE, np.arange(0, length / RATE + 5, 5.0), rng.uniform(0.7, 1.3, length // RATE // 5 + 2)
    )
    return bed[:length] * swell


def _tread(track: np.ndarray, begin: float, seconds: float, rng: np.random.Generator) -> None:
    now = begin + 0.3
    while now < begin + seconds - 0.4:
        size = round(0.16 * RATE)
        noise = np.convolve(rng.standard_normal(size), np.ones(9) / 9, "same")
        step = noise * np.exp(-np.linspace(0, 6, size)) * np.sin(np.linspace(0, np.pi, size)) ** 0.5
        at = round(now * RATE)
        track[at : at + size] += step * rng.uniform(0.02, 0.04)
        now += rng.uniform(0.55, 0.7)


def _decode(path: Path) -> np.ndarray:
    command = [
        imageio_ffmpeg.get_ffmpeg_exe(),
        "-v",
        "error",
        "-i",
        str(path),
        "-ac",
        "1",
        "-ar",
        str(RATE),
        "-f",
        "f32le",
        "-",
    ]
    return np.frombuffer(subprocess.run(command, check=True, capture_output=True).stdout, np.float32)


def _rms(samples: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(samples))))
