"""Field narration spoken by synthesisers, with its gold: sound for ``tests/bench/hearing.py``.

    python tests/bench/narration/say.py OUT [PART...]      needs episode, hibari-tts (Apache-2.0), and Debian's flite and espeak-ng

Three texts, all invented: ``dev.txt`` and ``aside.txt`` (whole passages with stances, by two hands; ``passages.py``
says how they are marked) and ``frames.txt`` (single sentences, each with a name of ``names.csv``, and the talk of
``talk.txt``). ``aside`` is kept aside: nothing is fitted to it.

Five voices of four makers: ``plain`` a neural voice with British sounds; ``slt`` and ``rms`` American, female and
male, statistical; ``awb`` the same of a Scot; ``rp`` a British formant synthesiser. Under wind, a boat or birds at
three ratios of mean powers. Which are hard was said before any was heard: ``awb`` and ``rp``, and any voice at 6 dB.
The sound stays in OUT; ``OUT/gold-PART.json`` gives every sentence's clip, times, text and namings.
"""

from __future__ import annotations

import csv
import json
import subprocess
import sys
import tempfile
import wave
from itertools import pairwise
from pathlib import Path

import numpy as np
from passages import Line, Naming, passages

from episode.lexicon.packs import load_lexicon
from episode.models import Stance

HERE = Path(__file__).parent
NOISE = HERE.parents[2] / "examples" / "making" / "noise"
RATE = 16_000
VOICES = ("plain", "slt", "rms", "awb", "rp")
HARD_VOICES = ("awb", "rp")
RATIOS = {"clear": 22, "moderate": 12, "hard": 6}
"""Speech to noise in dB."""
NOISES = ("wind", "boat", "birds")
LONGEST_CLIP_WORDS = 220


def main() -> None:
    out = Path(sys.argv[1])
    out.mkdir(parents=True, exist_ok=True)
    lexicon = load_lexicon()
    for part in sys.argv[2:] or ("frames", "dev", "aside"):
        told = framed() if part == "frames" else passages(HERE / f"{part}.txt", lexicon)
        gold = []
        for number, some in enumerate(clips(told), start=1):
            # Fifteen clips hold every voice under every ratio.
            voice = VOICES[number % 5]
            level = list(RATIOS)[number % 3]
            name = f"{part}{number:02}-{voice}-{level}"
            track, said = speak(some, voice, seed=number)
            save(out / f"{name}.wav", under(track, NOISES[number % 7 % 3], RATIOS[level]))
            hard = voice in HARD_VOICES or level == "hard"
            gold.append({"clip": name, "part": part, "voice": voice, "level": level, "hard": hard, "said": said})
            print(name, round(len(track) / RATE, 1), flush=True)
        (out / f"gold-{part}.json").write_text(json.dumps(gold, indent=1), encoding="utf-8")


def framed() -> list[list[Line]]:
    """Sentences with a name each, three and then one of talk, every name twice and never twice in one voice."""
    with (HERE / "names.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    frames = [line for line in (HERE / "frames.txt").read_text("utf-8").splitlines() if line.strip()]
    talk = [line for line in (HERE / "talk.txt").read_text("utf-8").splitlines() if line.strip()]
    told: list[list[Line]] = []
    for turn in (0, 1):
        for place in range(0, len(rows), 3):
            group = []
            for offset, row in enumerate(rows[place : place + 3]):
                frame = frames[(place * 7 + offset + turn * 11) % len(frames)]
                naming = Naming(row["name"], row["term"], Stance.FOUND)
                group.append(Line(frame.replace("NAME", row["name"]), (naming,)))
            group.append(Line(talk[(place // 3 + turn * 23) % len(talk)], ()))
            told.append(group)
    return told


def clips(told: list[list[Line]]) -> list[list[list[Line]]]:
    """Passages in clips of a minute and a half or so; talk without finds has clips of its own."""
    found: list[list[list[Line]]] = [[]]
    words, empty = 0, False
    for lines in told:
        bare = not any(line.namings for line in lines)
        if found[-1] and (words >= LONGEST_CLIP_WORDS or bare != empty):
            found.append([])
            words = 0
        empty = bare
        found[-1].append(lines)
        words += sum(len(line.text.split()) for line in lines)
    return found


def speak(some: list[list[Line]], voice: str, *, seed: int) -> tuple[np.ndarray, list[dict]]:
    parts, said, at, place = [np.zeros(RATE // 2, np.float32)], [], 0.5, 0
    for lines in some:
        for line, following in pairwise([*lines, None]):
            sound = spoken(line.text, voice, seed * 1000 + place)
            pause = 0.3 + 0.2 * (place % 4) + (0.0 if following else 0.9)
            namings = [{"words": n.words, "term": n.term, "stance": n.stance} for n in line.namings]
            end = at + len(sound) / RATE
            said.append({"start": round(at, 2), "end": round(end, 2), "text": line.text, "namings": namings})
            parts += [sound, np.zeros(int(RATE * pause), np.float32)]
            at += (len(sound) + int(RATE * pause)) / RATE
            place += 1
        said[-1]["last"] = True
    return np.concatenate(parts), said


def spoken(text: str, voice: str, seed: int) -> np.ndarray:
    if voice == "plain":
        return neural()(text, speed=1.0, seed=seed)[0]
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        command = ["flite", "-voice", voice, "-t", text, "-o", file.name]
        if voice == "rp":
            command = ["espeak-ng", "-v", "en-gb-x-rp", "-s", "150", "-w", file.name, text]
        subprocess.run(command, check=True, capture_output=True)
        return decoded(Path(file.name))


_NEURAL = []


def neural():
    if not _NEURAL:
        import hibari
        from hibari.g2p import G2P

        tts = hibari.Hibari(g2p=G2P(british=True))

        def say(text: str, *, speed: float, seed: int) -> tuple[np.ndarray, int]:
            sound = tts(text, speed=speed, seed=seed)
            steps = np.arange(0, len(sound) - 1, hibari.SAMPLE_RATE / RATE)
            return np.interp(steps, np.arange(len(sound)), sound).astype(np.float32), RATE

        _NEURAL.append(say)
    return _NEURAL[0]


def decoded(path: Path) -> np.ndarray:
    import imageio_ffmpeg

    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(path)]
    command += ["-f", "f32le", "-ac", "1", "-ar", str(RATE), "-"]
    raw = subprocess.run(command, check=True, capture_output=True).stdout
    return np.frombuffer(raw, np.float32)


def under(track: np.ndarray, noise: str, ratio: float) -> np.ndarray:
    bed = np.resize(decoded(NOISE / f"{noise}.opus"), len(track))
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
