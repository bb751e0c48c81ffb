"""What ``hearing.py`` measures on: narration, what was heard of it, and who can be asked about the sound."""

from __future__ import annotations

import bisect
import json
import re
import time
import wave
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from episode.lexicon.book import Lexicon
from episode.models import Clip, How, Kind, Mention, Segment, StartFrom, Transcript, Word
from episode.speech.again import Again
from episode.spotting.listening import Listener
from episode.spotting.spot import spot
from episode.spotting.stream import name_tokens

FINDS = {Kind.OBJECT, Kind.WARE, Kind.FEATURE}
WRITTEN = {How.WRITTEN, How.OTHER_NAME, How.MISHEARING}
FITTED = ("frames", "dev")
SLACK_S = 0.3
DATA = Path(__file__).parents[1] / "data"


def samples(path: Path) -> np.ndarray:
    with wave.open(str(path)) as file:
        return np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(np.float32) / 32768


def transcripts(folder: Path, model: str = "base") -> dict[str, Transcript]:
    """What was heard of each clip, its passages apart (``CLIP#1``, ``CLIP#2`` ...): each is another outing's talk."""
    read, gold = json.loads((folder / f"heard-{model}.json").read_text()), spoken(folder)
    told = {}
    for clip, heard in read.items():
        ends = [line["end"] + 0.7 for line in gold[clip]["said"] if line.get("last")]
        whole = [Segment.model_validate({"clip": clip, **segment}) for segment in heard["segments"]]
        parts: dict[tuple[int, int], list[Word]] = {}
        for number, segment in enumerate(whole):
            for word in segment.words:
                passage = bisect.bisect_left(ends, (word.start + word.end) / 2)
                parts.setdefault((passage, number), []).append(word)
        told[clip] = Transcript(
            segments=tuple(
                Segment(
                    clip=f"{clip}#{passage}",
                    start=words[0].start,
                    end=max(word.end for word in words),
                    text=" ".join(word.word.strip() for word in words),
                    words=tuple(words),
                )
                for (passage, _), words in sorted(parts.items())
            )
        )
    return told


def spotted(said: Transcript, lexicon: Lexicon, log: tuple = (), listen: Counting | None = None) -> tuple[Mention, ...]:
    """The mentions of a clip's passages, each in the last quarter of its day: neither round-ups nor finds are unlikely."""
    names = list(dict.fromkeys(segment.clip for segment in said.segments))
    longest_s = max((segment.end for segment in said.segments), default=0.0)
    day = [
        clip_at(Path("before.wav"), 3 * longest_s * len(names)),
        *(clip_at(Path(f"{n}.wav"), longest_s) for n in names),
    ]
    return spot(said, lexicon, log, clips=day, listen=listen)


def spoken(folder: Path) -> dict[str, dict]:
    """Every clip's part, voice, level and sentences with their namings, by name."""
    return {
        row["clip"]: row for path in sorted(folder.glob("gold-*.json")) for row in json.loads(path.read_text("utf-8"))
    }


def mark_written(gold: dict[str, dict], said: dict[str, Transcript]) -> None:
    """Notes with every naming whether the words that were said for it stand in the recogniser's text of that sentence."""
    for clip, transcript in said.items():
        words = [word for segment in transcript.segments for word in segment.words]
        for line in gold[clip]["said"]:
            near = [w.word for w in words if line["start"] - SLACK_S < (w.start + w.end) / 2 < line["end"] + SLACK_S]
            heard = "".join(name_tokens(" ".join(near)))
            for naming in line["namings"]:
                naming["written"] = "".join(name_tokens(naming["words"])) in heard


def clips_of(folder: Path) -> dict[str, Clip]:
    return {path.stem: clip_at(path, (path.stat().st_size - 44) / 32_000) for path in sorted(folder.glob("*.wav"))}


def clip_at(path: Path, duration: float) -> Clip:
    return Clip(
        name=path.stem,
        path=path,
        duration=duration,
        start=datetime(2026, 5, 3, tzinfo=UTC),
        start_from=StartFrom.NAME,
        camera="c",
        audio_tracks=1,
    )


def listener(folder: Path, model: str) -> Listener:
    from episode.speech.recognise import Ear

    ear = Ear(model)
    _ = ear.model
    again = Again(list(clips_of(folder).values()), ear, cache=folder / "again")
    # The sound is the whole clip's.
    return lambda asked: again([replace(question, clip=question.clip.split("#")[0]) for question in asked])


class Counting:
    """A listener with a stopwatch."""

    def __init__(self, listen) -> None:
        self.listen, self.count, self.took = listen, 0, 0.0

    def __call__(self, questions):
        begun = time.process_time()
        answers = self.listen(questions)
        self.took += time.process_time() - begun
        self.count += len(questions)
        return answers


def bared(said: Transcript) -> Transcript:
    def one(word: Word) -> Word:
        return word.model_copy(update={"word": re.sub(r"[^\w'\s-]", "", word.word).casefold(), "probability": 0.5})

    segments = [
        s.model_copy(update={"words": words, "text": " ".join(w.word.strip() for w in words)})
        for s in said.segments
        for words in [tuple(one(w) for w in s.words)]
    ]
    return Transcript(segments=tuple(segments))
