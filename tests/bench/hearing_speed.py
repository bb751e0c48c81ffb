"""How long hearing takes beside one plain call, what it loses, and how much memory it holds.

    python tests/bench/narration/say.py OUT dev aside                 speak the narration (see there)
    python -m tests.bench.hearing_speed OUT                           30 minutes in the field, a good 40 % of it talk
    python -m tests.bench.hearing_speed OUT --minutes 10 --ways plain,ours
    python -m tests.bench.hearing_speed OUT --model tiny.en --seed 3

The sound: passages of the narration, voices and noises mixed, with pauses of wind, boat or birds of 5 to 60 s
between them at the level of the noise under the talk; made anew from the seed, one track. Each way hears it in a
process of its own, one after the other; the library's weights are loaded before the clock starts, ours after:

    plain     one ``WhisperModel.transcribe(sound, beam_size=5)`` as the library has it, in the language given
    timed     the same with the time of every word, which the job cannot do without
    batched   ``BatchedInferencePipeline`` in batches of 8, with the time of every word
    ours      ``episode.speech.hear`` from the file on: decoding, cutting, hearing, keeping

Word error rate is that of ``tests/bench/words.py``, over all that was said. ``lost`` are words of the reference that
have nothing in their place, ``made up`` words with nothing said there. Memory is the peak of the process.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
import wave
from pathlib import Path

import numpy as np
from rapidfuzz.distance import Levenshtein

RATE = 16_000
ROOT = Path(__file__).parents[2]
NOISES = ("wind", "boat", "birds")
WAYS = ("plain", "timed", "batched", "ours")


def main() -> None:
    given = options()
    if given.way:
        print(json.dumps(one(given.way, given.out, given.model)))
        return
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / "field.wav"
        said, talk, length = field(given.out, path, minutes=given.minutes, seed=given.seed)
        print(f"{length / 60:.1f} min, {talk / length:.0%} talk, {len(said)} words said, model {given.model}")
        print(
            f"{'way':<10}{'wall s':>8}{'of plain':>9}{'factor':>8}{'cores':>7}{'wer %':>7}{'lost':>6}{'made up':>9}{'MiB':>7}"
        )
        first = 0.0
        for way in given.ways.split(","):
            command = [
                sys.executable,
                "-m",
                "tests.bench.hearing_speed",
                str(path),
                "--way",
                way,
                "--model",
                given.model,
            ]
            row = json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE, cwd=ROOT).stdout)
            first = first or row["wall"]
            print(line(way, row, said, first, length), flush=True)


def options() -> argparse.Namespace:
    told = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    told.add_argument("out", type=Path)
    told.add_argument("--minutes", type=float, default=30)
    told.add_argument("--seed", type=int, default=1)
    told.add_argument("--model", default="base")
    told.add_argument("--ways", default=",".join(WAYS))
    told.add_argument("--way", help=argparse.SUPPRESS)
    return told.parse_args()


def line(way: str, row: dict, said: list[str], first: float, length: float) -> str:
    heard = row["words"]
    kinds = [kind for kind, *_ in Levenshtein.editops(said, heard)]
    return (
        f"{way:<10}{row['wall']:>8.1f}{row['wall'] / first:>9.2f}{row['wall'] / length:>8.3f}"
        f"{row['cpu'] / row['wall']:>7.2f}{100 * len(kinds) / len(said):>7.2f}{kinds.count('delete'):>6}"
        f"{kinds.count('insert'):>9}{row['peak']:>7.0f}"
    )


# ---------------------------------------------------------------- the sound


def field(out: Path, path: Path, *, minutes: float, seed: int, share: float = 0.42) -> tuple[list[str], float, float]:
    """Write the track; give the words said, and the seconds of talk and of all."""
    from tests.bench.words import words

    random = np.random.default_rng(seed)
    passages = [p for name in ("dev", "aside") for p in passages_of(out, name)]
    random.shuffle(passages)
    noises = {name: looped(ROOT / "examples" / "making" / "noise" / f"{name}.opus") for name in NOISES}
    said: list[str] = []
    talk = done = 0.0
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        while done < minutes * 60:
            sound, text, spoken = passages.pop()
            level = quietest(sound)
            pause = float(np.clip(spoken / share - len(sound) / RATE + random.uniform(-8, 8), 5, 60))
            noise = noises[NOISES[int(random.integers(3))]]
            at = int(random.integers(len(noise) - int(pause * RATE) - 1))
            rest = noise[at : at + int(pause * RATE)]
            rest = rest * (level / max(float(np.sqrt(np.mean(rest**2))), 1e-6))
            both = np.concatenate((sound, rest))
            file.writeframes((np.clip(both, -1, 1) * 32767).astype("<i2").tobytes())
            said += words(text)
            talk += spoken
            done += len(both) / RATE
    return said, talk, done


def passages_of(out: Path, part: str) -> list[tuple[np.ndarray, str, float]]:
    """Sound, text and seconds of talk of every passage of a part."""
    from tests.bench.hearing_data import samples

    found = []
    for row in json.loads((out / f"gold-{part}.json").read_text(encoding="utf-8")):
        sound = samples(out / f"{row['clip']}.wav")
        held: list[dict] = []
        for told in row["said"]:
            held.append(told)
            if told.get("last") or told is row["said"][-1]:
                begin, end = max(0.0, held[0]["start"] - 0.4), held[-1]["end"] + 0.4
                text = " ".join(x["text"] for x in held)
                cut = sound[int(begin * RATE) : int(end * RATE)]
                found.append((cut, text, sum(x["end"] - x["start"] for x in held)))
                held = []
    return found


def looped(path: Path) -> np.ndarray:
    """Two minutes or more of a noise, from a file that may be shorter."""
    from tests.bench.words import decoded

    noise = decoded(path, clean=False)
    return np.tile(noise, 1 + 120 * RATE // len(noise))


def quietest(sound: np.ndarray) -> float:
    """The level (root mean square) of the quietest tenth of a passage: what lies under the talk."""
    frames = sound[: len(sound) // 800 * 800].reshape(-1, 800)
    return float(np.quantile(np.sqrt((frames**2).mean(axis=1)), 0.1))


# ---------------------------------------------------------------- the ways


def one(way: str, path: Path, model: str) -> dict:
    """Hear the track, in this process."""
    from tests.bench.words import words

    text, wall, cpu = {"ours": ours}.get(way, library)(path, model, way)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"wall": wall, "cpu": cpu, "words": words(text), "peak": peak}


def library(path: Path, model: str, way: str) -> tuple[str, float, float]:
    from faster_whisper import BatchedInferencePipeline, WhisperModel

    from episode.speech.weights import find_weights
    from tests.bench.hearing_data import samples

    loaded = WhisperModel(str(find_weights(model).folder), device="cpu", compute_type="int8")
    call = BatchedInferencePipeline(loaded).transcribe if way == "batched" else loaded.transcribe
    more = {"batch_size": 8} if way == "batched" else {}
    begun, busy = time.perf_counter(), time.process_time()
    segments, _ = call(samples(path), language="en", beam_size=5, word_timestamps=way != "plain", **more)
    text = " ".join(segment.text for segment in segments)
    return text, time.perf_counter() - begun, time.process_time() - busy


def ours(path: Path, model: str, _: str) -> tuple[str, float, float]:
    from episode.footage.survey import survey
    from episode.models import Settings
    from episode.speech.hear import hear

    with tempfile.TemporaryDirectory() as scratch:
        day = Path(scratch) / "day"
        (day / "footage").mkdir(parents=True)
        (day / "footage" / "field.wav").hardlink_to(path)
        settings = Settings(model=model)
        clips, _ = survey(day, settings)
        begun, busy = time.perf_counter(), time.process_time()
        said, problems = hear(clips, settings, cache=Path(scratch) / "cache")
        wall, cpu = time.perf_counter() - begun, time.process_time() - busy
    for problem in problems:
        print(problem, file=sys.stderr)
    return " ".join(segment.text for segment in said.segments), wall, cpu


if __name__ == "__main__":
    main()
