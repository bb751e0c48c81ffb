"""Raw clips of voice-like sound: syllables with gliding pitch and shifting formants over a bed of noise."""

from __future__ import annotations

import subprocess
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from episode.footage.tools import ffmpeg
from episode.models import Clip, StartFrom

FULL = 16_000


def voice(seconds: float, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    out = rng.standard_normal(int(seconds * FULL)).astype(np.float32) * 0.004
    at = 0
    while at < len(out) - FULL // 2:
        size = int(FULL * rng.uniform(0.12, 0.32))
        t = np.arange(size) / FULL
        pitch = rng.uniform(95, 180) * (1 + rng.uniform(-0.15, 0.15) * t / t[-1])
        phase = 2 * np.pi * np.cumsum(pitch) / FULL
        formants = rng.uniform([300, 900, 2200], [800, 2200, 3200])
        for harmonic in range(1, 25):
            hertz = harmonic * pitch.mean()
            loud = sum(np.exp(-(((hertz - f) / 180) ** 2)) for f in formants)
            out[at : at + size] += loud * np.sin(harmonic * phase) * np.hanning(size) * 0.12
        at += size + int(FULL * rng.choice([0.02, 0.05, 0.3], p=[0.5, 0.4, 0.1]))
    return out


def encode(samples: np.ndarray, target: Path, *arguments: str) -> Path:
    subprocess.run(
        [str(ffmpeg().path), "-v", "error", "-y", "-f", "f32le", "-ar", str(FULL), "-ac", "1", "-i", "-",
         *arguments, str(target)],
        input=samples.astype("<f4").tobytes(), check=True,
    )  # fmt: skip
    return target


def clip_of(path: Path, duration: float, **more: object) -> Clip:
    return Clip(
        name=path.name,
        path=path,
        duration=duration,
        start=datetime(2026, 5, 3, 9, tzinfo=UTC),
        start_from=StartFrom.CREATION,
        camera="camera",
        audio_tracks=1,
        **more,  # type: ignore[arg-type]
    )


@pytest.fixture(scope="session")
def raw(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, np.ndarray], list[Clip]]:
    folder = tmp_path_factory.mktemp("raw")
    sounds = {"a.wav": voice(24, 1), "b.wav": voice(24, 2)}
    return sounds, [clip_of(encode(s, folder / name), 24) for name, s in sounds.items()]
