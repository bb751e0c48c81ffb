"""Raw clips and films cut from them, made by script and seeded, for ``cut.py``."""

from __future__ import annotations

import subprocess
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from episode.footage.containers import CLIPS
from episode.footage.tools import ffmpeg

FULL = 16_000
EXAMPLE = Path(__file__).parents[2] / "examples" / "2026-05-03-skelby-sands" / "footage"

TREATMENTS: dict[str, dict] = {
    "clean": {},
    "re-encoded": {"aac": "64k"},
    "eq, compressed, loudness": {
        "filter": "equalizer=f=300:t=h:w=200:g=-4,equalizer=f=3000:t=h:w=1500:g=5,"
        "acompressor=threshold=0.1:ratio=4,loudnorm=I=-16",
        "aac": "64k",
    },
    "music 12 dB under": {"music": -12, "aac": "64k"},
    "music 6 dB under": {"music": -6, "aac": "64k"},
    "music as loud": {"music": 0, "aac": "64k"},
    "resampled 2 %": {"filter": "asetrate={rate},aresample=16000", "speed": 1.02, "aac": "64k"},
    "resampled 25/24": {"filter": "asetrate={rate},aresample=16000", "speed": 16_667 / 16_000, "aac": "64k"},
    "resampled 1.3 %": {"filter": "asetrate={rate},aresample=16000", "speed": 1.013, "aac": "64k"},
    "resampled 3.7 %": {"filter": "asetrate={rate},aresample=16000", "speed": 1.037, "aac": "64k"},
    "stretched 2 %": {"filter": "atempo={speed}", "speed": 1.02, "aac": "64k"},
    "stretched 3.7 %": {"filter": "atempo={speed}", "speed": 1.037, "aac": "64k"},
    "denoised": {"filter": "afftdn=nr=20:nf=-35", "aac": "64k"},
    "denoised, gated": {"filter": "afftdn=nr=20:nf=-35,agate=threshold=0.01:ratio=4", "aac": "64k"},
    "pieces 1.5 to 4 s": {"lengths": (1.5, 4.0), "aac": "64k"},
    "pieces 0.7 to 1.5 s": {"lengths": (0.7, 1.5), "aac": "64k"},
    "cross-fades": {"fade": (0.25, 1.0), "lengths": (5.0, 15.0), "aac": "64k"},
    "repeated pieces": {"repeats": 0.3, "aac": "64k"},
    "two cameras": {"from": ("a1", "a2"), "aac": "64k"},
    "a camera missing": {"from": ("a1", "b2", "plain"), "missing": "b2", "aac": "64k"},
    "a camera missing, in step": {"from": ("b1", "b2", "plain"), "missing": "b2", "step": True, "aac": "64k"},
    "foreign only": {"foreign": 1.0, "aac": "64k"},
    "voice-over between": {"foreign": 0.25, "aac": "64k"},
    "delayed 5 ms": {"delay": 0.005, "aac": "64k"},
    "delayed 30 ms": {"delay": 0.030, "aac": "64k"},
    "silence, shared music": {"from": ("silent", "tune1", "tune2"), "aac": "64k"},
    "reversed pieces": {"reversed": 0.2, "aac": "64k"},
}
"""By default: pieces of 3 to 15 s in any order from every clip, one in twenty foreign."""


LATE = {"b1": 0.0, "b2": 3.7}
"""Seconds after the first camera that the second was switched on."""


@dataclass(frozen=True)
class Stretch:
    """Film seconds ``begin`` to ``end`` before any speed; ``clip`` is None for foreign sound."""

    begin: float
    end: float
    clip: str | None = None
    at: float = 0.0
    lost: bool = False
    """From a camera whose clip is not given."""
    fade: float = 0.0
    """Seconds of cross-fade centred on its beginning."""


@dataclass
class Raw:
    """Clips as 16-bit sound at ``FULL``, and speech that is in none of them."""

    clips: dict[str, np.ndarray] = field(default_factory=dict)
    foreign: np.ndarray = field(default_factory=lambda: np.zeros(0, np.int16))


def raw_sound(folders: list[Path], seed: int, minutes: float) -> Raw:
    """Twelve clips: two cameras on each of two talks (``a1`` and ``a2``, ``b1`` and ``b2``), noise alone, one with digital silence
    between sentences, two with the same music behind, and plain ones, in noise of their own 20 to -2 dB under.

    Files are used once, so that no sound is in two clips but by design; a fifth of the files is left out as foreign.
    """  # fmt: skip
    rng = np.random.default_rng(seed)
    files = sorted(p for f in folders for p in f.rglob("*") if p.suffix.lower() in CLIPS)
    if not files:
        raise SystemExit(f"no sound below {', '.join(map(str, folders))}")
    spoken = [said_anew(decode(files[k]), rng) for k in rng.permutation(len(files))]
    joined = np.concatenate(spoken)
    edge = int(len(joined) * 0.85)
    talk, foreign = joined[:edge], joined[edge:]
    names = ["a1", "b1", "silent", "tune1", "tune2", *(f"plain{k}" for k in range(4))]
    size = min(len(talk) // len(names), int(minutes * 60 * FULL / 12))
    raw = Raw(foreign=whole(foreign))
    tune = music(size, np.random.default_rng(seed + 9))
    for number, name in enumerate(names):
        voice = talk[number * size : (number + 1) * size]
        level = float(voice.std()) + 1e-9
        voice = voice / level * 0.08
        under = [20, 14, 10, 6, 2, -2][number % 6] if name.startswith("plain") else 16
        out = voice + noise(size, rng) * 0.08 * 10 ** (-under / 20)
        if name.startswith("tune"):
            out = out + tune * 0.04
        if name == "silent":
            out = voice.copy()
            for begin in range(2 * FULL, size - FULL, 7 * FULL):
                out[begin : begin + FULL] = 0
        raw.clips[name] = whole(out)
        if name in {"a1", "b1"}:
            raw.clips[name[0] + "2"] = whole(other_camera(voice, rng))
    raw.clips["noise"] = whole(noise(size, rng) * 0.05)
    return raw


def said_anew(voice: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The same words with other pitch and pace throughout: a synthetic voice says a sentence twice in one and the same way,
    which nobody does, and which would make two places in the footage one sound."""  # fmt: skip
    knots = np.arange(0, len(voice) + FULL, int(0.7 * FULL))
    pace = 1 + np.interp(np.arange(len(voice)), knots, rng.uniform(-0.07, 0.07, len(knots)))
    where = np.cumsum(pace)
    where = where[where < len(voice) - 1]
    return np.interp(where, np.arange(len(voice)), voice).astype(np.float32)


def other_camera(voice: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The same talk from some metres off: begun 3.7 s later, a room's (or a wall's) echoes, another microphone and noise."""  # fmt: skip
    late = voice[int(LATE["b2"] * FULL) :]
    echo = rng.standard_normal(int(0.12 * FULL)) * np.exp(-np.arange(int(0.12 * FULL)) / (0.03 * FULL)) * 0.12
    echo[0] = 0.7
    wet = np.convolve(late, echo)[: len(late)]
    wet = np.append(wet[1:] - 0.5 * wet[:-1], 0)
    return wet / (wet.std() + 1e-9) * 0.06 + noise(len(late), rng) * 0.06 * 10 ** (-12 / 20)


def make_film(raw: Raw, how: dict, seed: int, minutes: float) -> tuple[np.ndarray, list[Stretch]]:
    """A film and what it is made of."""
    rng = np.random.default_rng(seed)
    low, high = how.get("lengths", (3.0, 15.0))
    names = [n for n in raw.clips if any(n.startswith(f) for f in how.get("from", tuple(raw.clips)))]
    out = np.zeros(int((minutes + 2) * 60 * FULL), np.float32)
    made: list[Stretch] = []
    at = 0
    while at < minutes * 60 * FULL:
        size = int(FULL * rng.uniform(low, high))
        kind = rng.uniform()
        clip: str | None = None
        begin = 0
        if kind < how.get("foreign", 0.05) and len(raw.foreign) > 2 * size:
            begin = int(rng.integers(0, len(raw.foreign) - size))
            sound = raw.foreign[begin : begin + size]
        else:
            again = [m for m in made if m.clip] if rng.uniform() < how.get("repeats", 0.0) else []
            if again:
                old = again[int(rng.integers(len(again)))]
                clip, begin, size = old.clip, round(old.at * FULL), round((old.end - old.begin) * FULL)
            else:
                clip = names[int(rng.integers(len(names)))]
                size = min(size, len(raw.clips[clip]) - 1)
                begin = int(rng.integers(0, len(raw.clips[clip]) - size))
            last = made[-1] if made else None
            if how.get("step") and last and last.clip in LATE and rng.uniform() < 0.7:
                # The talk goes on and the picture changes to the other camera.
                clip = "b1" if last.clip == "b2" else "b2"
                begin = round((last.at + last.end - last.begin + LATE[last.clip] - LATE[clip]) * FULL)
                if not 0 <= begin < len(raw.clips[clip]) - size:
                    continue
            sound = raw.clips[clip][begin : begin + size]
            if kind > 1 - how.get("reversed", 0.0):
                sound, clip = sound[::-1], None
        part = sound.astype(np.float32) / 32768
        fade = 0
        if "fade" in how and made:
            fade = min(int(FULL * rng.uniform(*how["fade"])), size // 2)
            ramp = np.linspace(0, 1, fade, dtype=np.float32)
            at -= fade
            out[at : at + fade] *= np.sqrt(1 - ramp)
            part[:fade] *= np.sqrt(ramp)
            made[-1] = Stretch(**{**vars(made[-1]), "end": (at + fade / 2) / FULL})
        out[at : at + len(part)] += part
        start = (at + fade / 2) / FULL
        lost = clip is not None and clip == how.get("missing")
        made.append(Stretch(start, (at + len(part)) / FULL, clip, (begin + fade / 2) / FULL, lost, fade / FULL))
        at += len(part)
    film = out[:at]
    if "music" in how:
        bed = music(len(film), rng)
        film = film + bed * film.std() * 10 ** (how["music"] / 20)
    if "delay" in how:
        film = np.concatenate([np.zeros(int(how["delay"] * FULL), np.float32), film])
    film = film / max(1.0, float(np.abs(film).max()) * 1.05)
    speed = how.get("speed", 1.0)
    filters = how.get("filter", "").format(rate=round(FULL * speed), speed=speed)
    return coded(film, filters, how.get("aac")), made


def noise(count: int, rng: np.random.Generator) -> np.ndarray:
    """Wind and surf: noise that falls with frequency and swells; 1 in level."""
    from scipy.signal import lfilter

    out = lfilter([1], [1, -0.9], rng.standard_normal(count))
    swell = np.interp(np.arange(count), np.arange(0, count + FULL, FULL), rng.uniform(0.6, 1.4, count // FULL + 2)[: len(np.arange(0, count + FULL, FULL))])  # fmt: skip
    out = out * swell
    return out / out.std()


def music(count: int, rng: np.random.Generator) -> np.ndarray:
    """Chords of four notes with a beat, 1 in level."""
    out, at = np.zeros(count), 0
    while at < count:
        size = min(int(FULL * rng.uniform(0.35, 1.2)), count - at)
        t = np.arange(size) / FULL
        for note in rng.choice([0, 2, 4, 5, 7, 9, 11, 12, 14, 16], 4, replace=False):
            base = 196 * 2 ** (note / 12)
            for partial in range(1, 7):
                out[at : at + size] += np.sin(2 * np.pi * base * partial * t) / partial * np.exp(-2 * t)
        out[at : at + size] += rng.standard_normal(size) * np.exp(-60 * t) * 2
        at += size
    return out / (out.std() + 1e-9)


def whole(samples: np.ndarray) -> np.ndarray:
    return np.clip(np.rint(samples * 32767), -32768, 32767).astype(np.int16)


def decode(path: Path, rate: int = FULL) -> np.ndarray:
    ran = subprocess.run(
        [str(ffmpeg().path), "-nostdin", "-v", "error", "-i", f"file:{path}", "-vn", "-ac", "1", "-ar", str(rate), "-f", "f32le", "-"],
        stdin=subprocess.DEVNULL, capture_output=True, check=True,
    )  # fmt: skip
    return np.frombuffer(ran.stdout, "<f4")


def through(samples: np.ndarray, arguments: list[str], rate: int = FULL) -> np.ndarray:
    ran = subprocess.run(
        [str(ffmpeg().path), "-v", "error", "-f", "f32le", "-ar", str(FULL), "-ac", "1", "-i", "-", *arguments,
         "-ac", "1", "-ar", str(rate), "-f", "f32le", "-"],
        input=samples.astype("<f4").tobytes(), capture_output=True, check=True,
    )  # fmt: skip
    return np.frombuffer(ran.stdout, "<f4")


def coded(samples: np.ndarray, filters: str, bits: str | None) -> np.ndarray:
    out = through(samples, ["-af", f"{filters},aresample={FULL}"]) if filters else samples
    if bits:
        with tempfile.TemporaryDirectory() as scratch:
            film = Path(scratch) / "film.m4a"
            encode(out, film, bits)
            out = decode(film)
    return out


def encode(samples: np.ndarray, film: Path, bits: str, rate: int = FULL) -> None:
    subprocess.run(
        [str(ffmpeg().path), "-v", "error", "-y", "-f", "f32le", "-ar", str(FULL), "-ac", "1", "-i", "-",
         "-ar", str(rate), "-c:a", "aac", "-b:a", bits, str(film)],
        input=samples.astype("<f4").tobytes(), check=True,
    )  # fmt: skip
