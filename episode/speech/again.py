"""Listening again: how likely the sound is under one wording and under another.

A forced alignment gives each token of a given text its probability by the sound (CTranslate2's
``Whisper.align``); the sum of the logarithms' differences is a log-likelihood ratio between two wordings. A
few seconds of speech around the words in question tell most; one encoding serves all questions close by. The names in
question stand before the text as the recogniser's own earlier words do (its prompt), so that a rare word is not held
against itself.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import math
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, Protocol

from pydantic import BaseModel

from episode.crew import Task, in_order
from episode.errors import CannotWrite, EpisodeError
from episode.memory import give_back
from episode.models import Clip
from episode.progress import Progress, Quiet
from episode.speech.heard import clip_key, keep, kept
from episode.speech.recognise import RATE, Ear

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LONGEST_S = 20.0
"""Seconds encoded together."""
BATCH = 8
GIVE_BACK_EVERY = 32
LONGEST_PROMPT, LONGEST_TEXT = 120, 200
"""Tokens."""
FLOOR = 1e-10
"""A token's least probability before the logarithm."""
VERSION = 2
"""Raised whenever the same sound, weights and questions would give other answers."""


class Asked(Protocol):
    """A question, as the spotting room puts it."""

    @property
    def clip(self) -> str: ...  # noqa: D102
    @property
    def start(self) -> float: ...  # noqa: D102
    @property
    def end(self) -> float: ...  # noqa: D102
    @property
    def heard(self) -> str: ...  # noqa: D102
    @property
    def instead(self) -> str: ...  # noqa: D102
    @property
    def among(self) -> tuple[str, ...]: ...  # noqa: D102


class Answers(BaseModel):
    """What is kept for one clip and its questions, in nats."""

    format: Literal["episode-again/1"] = "episode-again/1"
    ratios: tuple[float | None, ...]


class Again:
    """Answers questions about the sound of a day's clips, each clip's once (kept in the cache folder)."""

    def __init__(
        self, clips: Sequence[Clip], ear: Ear, *, cache: Path, clean: bool = False, progress: Progress | None = None
    ) -> None:
        self._clips = {clip.name: clip for clip in clips}
        self._ear = ear
        self._cache = cache
        self._clean = clean
        self._progress = progress or Quiet()

    def __call__(self, questions: Sequence[Asked]) -> list[float | None]:
        """How much likelier, in nats, the sound is with ``instead`` than with ``heard``; ``None`` without sound.

        Sound that cannot be decoded answers nothing.

        Raises:
            MissingModel: the weights are absent or damaged.
        """
        answers: list[float | None] = [None] * len(questions)
        by_clip: dict[str, list[int]] = {}
        for number, asked in enumerate(questions):
            by_clip.setdefault(asked.clip, []).append(number)
        for name, numbers in by_clip.items():
            clip = self._clips.get(name)
            if clip is None or not clip.audio_tracks or clip.transcript is not None:
                continue
            mine = sorted(numbers, key=lambda n: (questions[n].start, questions[n].end, questions[n].instead))
            for number, ratio in zip(mine, self._clip(clip, [questions[n] for n in mine]), strict=True):
                answers[number] = ratio
        return answers

    def _clip(self, clip: Clip, questions: list[Asked]) -> Sequence[float | None]:
        told = json.dumps([[q.start, q.end, q.heard, q.instead, q.among] for q in questions])
        about = f"again {VERSION} {self._ear.weights.checksum} {self._ear.options.model_dump_json()} {self._clean}"
        try:
            key = clip_key(clip.path, f"{about} {hashlib.sha256(told.encode()).hexdigest()}")
        except OSError:
            return [None] * len(questions)
        path = self._cache / "again" / key[:2] / f"{key}.json"
        known = kept(path, Answers)
        if known is not None and len(known.ratios) == len(questions):
            return known.ratios
        ratios: list[float | None] = []
        self._progress.begin(f"listening again to {clip.name}", float(len(questions)))
        try:
            asked = (Task(partial(self._answered, *one)) for one in self._sound(clip, _groups(questions)))
            for number, answered in enumerate(in_order(asked, hands=self._ear.hands), start=1):
                found = answered.result()
                if number % GIVE_BACK_EVERY == 0:
                    give_back()
                ratios += found
                self._progress.advance(float(len(found)))
        except (EpisodeError, RuntimeError):
            # What cannot be decoded was told when the clip was first heard.
            return [*ratios, *([None] * (len(questions) - len(ratios)))]
        finally:
            give_back()
            self._progress.end("done")
        ratios += [None] * (len(questions) - len(ratios))
        with contextlib.suppress(CannotWrite):  # the answers are in hand; the next run asks again
            keep(path, Answers(ratios=tuple(ratios)))
        return ratios

    def _sound(self, clip: Clip, groups: list[list[Asked]]) -> Iterator[tuple[list[Asked], NDArray[np.float32]]]:
        """The sound of every group, from one decoding; no more than a piece and a group are held."""
        import numpy as np

        from episode.footage.kept_sound import sounding

        held: NDArray[np.float32] = np.zeros(0, dtype=np.float32)
        at = 0.0
        left = list(groups)
        for piece in sounding(clip, cache=self._cache, clean=self._clean):
            if not held.size:
                at = piece.start
            held = np.concatenate((held, piece.samples))
            reached = at + len(held) / RATE
            while left and max(q.end for q in left[0]) <= reached:
                yield left[0], _cut(held, at, left.pop(0))
            if not left:
                return
            begin = min(left[0][0].start, reached)
            gone = max(0, int((begin - at) * RATE))
            held, at = held[gone:], at + gone / RATE
        for group in left:
            yield group, _cut(held, at, group)

    def _answered(
        self, group: list[Asked], samples: NDArray[np.float32], reached: Callable[[float], None]
    ) -> list[float | None]:
        reached(0.0)  # nobody may want it any more
        return self._ratios(group, samples)

    def _ratios(self, group: list[Asked], samples: NDArray[np.float32]) -> list[float | None]:
        import ctranslate2
        import numpy as np
        from faster_whisper.tokenizer import Tokenizer

        if len(samples) < RATE // 2:
            return [None] * len(group)
        model = self._ear.model
        language = self._ear.options.language if self._ear.options.language != "auto" else "en"
        tokenizer = Tokenizer(model.hf_tokenizer, model.model.is_multilingual, task="transcribe", language=language)
        features = np.ascontiguousarray(model.feature_extractor(samples)[None, :, :3000])
        encoded = np.array(model.model.encode(ctranslate2.StorageView.from_array(features), to_cpu=True))
        begin = group[0].start
        found: dict[tuple[float, float, tuple[str, ...], str], float] = {}
        # Questions about the same seconds go together: the wording heard is aligned once.
        texts: dict[tuple[float, float, tuple[str, ...]], list[str]] = {}
        for asked in group:
            listed = texts.setdefault((asked.start, asked.end, asked.among), [])
            listed += [text for text in (asked.heard, asked.instead) if text not in listed]
        for (start, end, among), listed in texts.items():
            first = int((start - begin) * 50)
            part = encoded[:, first : max(first + 25, math.ceil((end - begin) * 50))]
            if not part.shape[1]:  # the clip has become shorter since; the alignment would divide by nothing
                continue
            before = list(tokenizer.sot_sequence)
            if among:
                before = [tokenizer.sot_prev, *tokenizer.encode(" " + ", ".join(among))[:LONGEST_PROMPT], *before]
            for place in range(0, len(listed), BATCH):
                some = listed[place : place + BATCH]
                tokens = [tokenizer.encode(" " + text)[:LONGEST_TEXT] for text in some]
                rows = np.ascontiguousarray(np.repeat(part, len(some), axis=0))
                aligned = model.model.align(ctranslate2.StorageView.from_array(rows), before, tokens, part.shape[1] * 2)
                for text, result in zip(some, aligned, strict=True):
                    found[start, end, among, text] = _log(result)
        told = [((q.start, q.end, q.among, q.instead), (q.start, q.end, q.among, q.heard)) for q in group]
        return [round(found[new] - found[old], 3) if old in found else None for new, old in told]


def _groups(questions: Sequence[Asked]) -> list[list[Asked]]:
    """Questions close enough to be answered from one encoding; they come in order of start."""
    groups: list[list[Asked]] = []
    for asked in questions:
        last = groups[-1] if groups else []
        if last and asked.end - last[0].start <= LONGEST_S and asked.start <= max(q.end for q in last):
            last.append(asked)
        else:
            groups.append([asked])
    return groups


def _cut(held: NDArray[np.float32], at: float, group: list[Asked]) -> NDArray[np.float32]:
    begin = max(0, int((group[0].start - at) * RATE))
    return held[begin : max(begin, int((max(q.end for q in group) - at) * RATE))]


def _log(result: Any) -> float:
    return sum(math.log(max(FLOOR, float(probability))) for probability in result.text_token_probs)
