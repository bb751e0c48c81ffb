"""Field narration spoken by a synthesiser, with its gold: sound for ``tests/bench/sounds.py``.

    python tests/bench/narration/say.py OUT      needs hibari-tts (Apache-2.0), numpy and imageio-ffmpeg; the sound stays in OUT

Nine clips of invented talk, each with names drawn from the vocabulary (``names.csv``, drawn once and kept) in
invented frames, and three of talk without finds. One packaged voice, made three: British sounds at its own
pitch, the same lower and slower, American sounds higher and quicker; each under wind, waves or a boat at
three ratios of mean powers. ``OUT/gold.json`` gives every sentence's clip, times, text, term and name.
Clips 3, 6 and 9 are kept aside: no figure is fitted to them.
"""

from __future__ import annotations

import csv
import json
import subprocess
import sys
import wave
from pathlib import Path

import hibari
import imageio_ffmpeg
import numpy as np
from hibari.g2p import G2P

HERE = Path(__file__).parent
NOISE = HERE.parents[2] / "examples" / "making" / "noise"
RATE = 16_000
VOICES = {"plain": (True, 1.0, 1.0), "low": (True, 1.1, 0.86), "high": (False, 1.0, 1.12)}
"""British sounds or not, speed, and factor of pitch."""
RATIOS = {"clear": 22, "moderate": 12, "hard": 6}
"""Speech to noise in dB."""
NOISES = ("wind", "boat", "birds")


def main() -> None:
    out = Path(sys.argv[1])
    out.mkdir(parents=True, exist_ok=True)
    with (HERE / "names.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    frames = (HERE / "frames.txt").read_text("utf-8").split("\n")
    frames = [line for line in frames if line.strip()]
    talk = [line for line in (HERE / "talk.txt").read_text("utf-8").split("\n") if line.strip()]
    gold = []
    for number in range(1, 13):
        voice = list(VOICES)[(number - 1) % 3] if number <= 9 else list(VOICES)[number - 10]
        # A Latin square: every voice under every ratio.
        level = list(RATIOS)[((number - 1) // 3 + (number - 1)) % 3]
        lines: list[tuple[str, str, str]] = []
        if number <= 9:
            mine = [row for row in rows if int(row["clip"]) == number]
            for place, row in enumerate(mine):
                frame = frames[(number * 7 + place) % len(frames)]
                lines.append((frame.replace("NAME", row["name"]), row["term"], row["name"]))
                if place % 3 == 2:
                    lines.append((talk[(number * 5 + place) % len(talk)], "", ""))
        else:
            lines = [(text, "", "") for text in talk[(number - 10) :: 3]]
        track, said = speak(lines, *VOICES[voice], seed=number)
        name = f"clip{number:02}-{voice}-{level}"
        save(out / f"{name}.wav", under(track, NOISES[number % 3], RATIOS[level]))
        gold += [{"clip": name, "number": number, **row} for row in said]
    (out / "gold.json").write_text(json.dumps(gold, indent=1), encoding="utf-8")


def speak(lines, british, speed, pitch, *, seed):
    tts = hibari.Hibari(g2p=G2P(british=british))
    parts, said, at = [], [], 0.5
    parts.append(np.zeros(RATE // 2, np.float32))
    for place, (text, term, name) in enumerate(lines):
        sound = tts(text, speed=speed / pitch, seed=seed * 1000 + place)
        steps = np.arange(0, len(sound) - 1, hibari.SAMPLE_RATE / RATE * pitch)
        sound = np.interp(steps, np.arange(len(sound)), sound).astype(np.float32)
        pause = np.zeros(int(RATE * (0.35 + 0.25 * (place % 4))), np.float32)
        said.append(
            {"start": round(at, 2), "end": round(at + len(sound) / RATE, 2), "text": text, "term": term, "name": name}
        )
        parts += [sound, pause]
        at += (len(sound) + len(pause)) / RATE
    return np.concatenate(parts), said


def under(track: np.ndarray, noise: str, ratio: float) -> np.ndarray:
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(NOISE / f"{noise}.opus")]
    command += ["-f", "f32le", "-ac", "1", "-ar", str(RATE), "-"]
    bed = np.frombuffer(subprocess.run(command, check=True, capture_output=True).stdout, np.float32)
    bed = np.resize(bed, len(track))
    loud = track[np.abs(track) > 0.01]
    bed = bed * np.sqrt(np.mean(loud**2) / np.mean(bed**2) / 10 ** (ratio / 10))
    mixed = track + bed
    return mixed * (0.7 / np.abs(mixed).max())


def save(path: Path, track: np.ndarray) -> None:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((track * 32767).astype("<i2").tobytes())


if __name__ == "__main__":
    main()
