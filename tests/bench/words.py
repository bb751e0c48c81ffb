"""How many words the recogniser gets wrong, and what the clean-up filter does under wind.

    python tests/bench/words.py                    the default model on the recordings in tests/data/speech
    python tests/bench/words.py --model tiny.en    another one
    python tests/bench/words.py --wind             the same under wind, with and without the clean-up filter
    python tests/bench/words.py --folder DIR       other recordings with a manifest.csv of the same columns

Word error rate: substitutions, deletions and insertions over the words of the reference, after the
normalisation below, alike for both sides: lower case; hyphens and dashes to spaces; all other punctuation
gone except apostrophes inside words; "mister" to "mr"; spoken numbers to digits by text2num, with years said
in two halves joined ("fourteen fifty-five" is 1455) and "100%" and "a hundred percent" made one; the
fillers uh, um, er, m left out. The rate of the whole is over all words, not the mean of the files.

Wind is laid under the speech at a given ratio of mean powers (speech to wind, in dB). Heard at real time
factor: seconds of processor wall clock for a second of sound, weights loaded before.
"""

from __future__ import annotations

import argparse
import csv
import re
import tempfile
import time
import wave
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from rapidfuzz.distance import Levenshtein
from text_to_num import alpha2digit

from episode.footage.sound import pieces
from episode.models import Clip, StartFrom
from episode.speech.recognise import Ear

DATA = Path(__file__).parent.parent / "data"
RATE = 16_000
FILLERS = {"uh", "um", "er", "erm", "m", "mm", "hmm"}


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--model", default="base")
    options.add_argument("--folder", type=Path, default=DATA / "speech")
    options.add_argument("--wind", action="store_true")
    options.add_argument("--wind-file", type=Path, default=DATA / "noise" / "wind.flac")
    options.add_argument("--ratios", default="20,10,5,0", help="speech to wind in dB")
    given = options.parse_args()
    with (given.folder / "manifest.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    ear = Ear(given.model)
    _ = ear.model
    if given.wind:
        under_wind(ear, given, rows)
    else:
        plainly(ear, given, rows)


def plainly(ear: Ear, given: argparse.Namespace, rows: list[dict[str, str]]) -> None:
    print(f"{'file':<28}{'words':>6}{'wrong':>6}{'rate':>8}{'factor':>8}")
    total: list[tuple[int, int, float, float]] = []
    for row in rows:
        sound = decoded(given.folder / row["file"], clean=False)
        begun = time.perf_counter()
        heard = words(said(ear, sound))
        took = time.perf_counter() - begun
        reference = words(row["reference"])
        wrong = Levenshtein.distance(reference, heard)
        total.append((len(reference), wrong, took, len(sound) / RATE))
        print(line(row["file"], total[-1:]))
        if wrong:
            print("   " + differences(reference, heard))
    print(line(f"all ({ear.name})", total))


def under_wind(ear: Ear, given: argparse.Namespace, rows: list[dict[str, str]]) -> None:
    wind = decoded(given.wind_file, clean=False)
    print(f"{'speech to wind':<18}{'words':>6}{'as filmed':>14}{'cleaned':>14}")
    for ratio in (None, *(float(text) for text in given.ratios.split(","))):
        wrong = {False: 0, True: 0}
        count = 0
        for row in rows:
            speech = decoded(given.folder / row["file"], clean=False)
            mixed = speech if ratio is None else blown(speech, wind, ratio)
            reference = words(row["reference"])
            count += len(reference)
            with tempfile.TemporaryDirectory() as folder:
                path = Path(folder) / "mixed.wav"
                write(path, mixed)
                for clean in wrong:
                    heard = words(said(ear, decoded(path, clean=clean)))
                    wrong[clean] += Levenshtein.distance(reference, heard)
        label = "no wind" if ratio is None else f"{ratio:.0f} dB"
        print(f"{label:<18}{count:>6}" + "".join(f"{n:>6} {n / count:>7.1%}" for n in wrong.values()), flush=True)


def said(ear: Ear, sound: np.ndarray) -> str:
    segments, _ = ear.listen(sound)
    return " ".join(segment.text for segment in segments)


def decoded(path: Path, *, clean: bool) -> np.ndarray:
    clip = Clip(
        name=path.name,
        path=path,
        duration=0,
        start=datetime(2026, 5, 3, tzinfo=UTC),
        start_from=StartFrom.MODIFIED,
        camera="bench",
        audio_tracks=1,
    )
    return np.concatenate([piece.samples for piece in pieces(clip, clean=clean)])


def blown(speech: np.ndarray, wind: np.ndarray, ratio: float) -> np.ndarray:
    """Wind under the speech, ``ratio`` dB below its mean power, all made quieter where it would clip."""
    under = np.resize(wind, len(speech))
    under = under * np.sqrt((speech**2).mean() / (under**2).mean() / 10 ** (ratio / 10))
    mixed = speech + under
    return (mixed / max(1.0, float(np.abs(mixed).max()))).astype(np.float32)


def write(path: Path, sound: np.ndarray) -> None:
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())


def words(text: str) -> list[str]:
    text = text.lower().replace("’", "'").replace("%", " percent")
    text = re.sub(r"[-–—]", " ", text)
    text = re.sub(r"(?<=\d),(?=\d{3})", "", text)
    text = re.sub(r"[^\w' ]", " ", text)
    text = re.sub(r"\ba hundred\b", "one hundred", text)
    text = alpha2digit(text, "en")
    text = re.sub(r"\b(1[0-9]|20) ([1-9][0-9])\b", r"\1\2", text)  # years said in two halves
    text = re.sub(r"\bmister\b", "mr", text)
    return [word for word in (w.strip("'") for w in text.split()) if word and word not in FILLERS]


def differences(reference: list[str], heard: list[str]) -> str:
    found = []
    for tag, a, b, c, d in Levenshtein.opcodes(reference, heard):
        if tag != "equal":
            found.append(f"{' '.join(reference[a:b]) or '-'} > {' '.join(heard[c:d]) or '-'}")
    return "; ".join(found)


def line(name: str, rows: list[tuple[int, int, float, float]]) -> str:
    count, wrong, took, seconds = (sum(column) for column in zip(*rows, strict=True))
    return f"{name:<28}{count:>6}{wrong:>6}{wrong / max(1, count):>8.1%}{took / seconds:>8.2f}"


if __name__ == "__main__":
    main()
