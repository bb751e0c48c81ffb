"""A voice with a stopwatch: speech and the exact time of every word in it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import hibari
import numpy as np
import onnx
import onnxruntime
from hibari import dsp

RATE = 24000
HOP = 600
"""Samples in one step of the synthesiser's durations."""
DURATIONS = "/Clip_output_0"
"""The graph's value that holds each phone's length in steps (Round, then Clip)."""


WORD = re.compile(r"[A-Za-z]+(?:['-][A-Za-z]+)*")

QUIET = 0.03
"""Below this share of the loudest 10 ms, the sentence is over."""
LEAD = 0.05
"""Seconds kept before the first sound and after the last."""


@dataclass(frozen=True)
class Spoken:
    """``words`` holds (word, start, end) in seconds from the start of ``samples``."""

    samples: np.ndarray
    words: tuple[tuple[str, float, float], ...]


class Voice:
    def __init__(self, pronounced: dict[str, str]) -> None:
        self._tts = hibari.Hibari()
        self._pronounced = pronounced
        graph = onnx.load(str(Path(self._tts.model_path)))
        graph.graph.output.append(onnx.helper.make_empty_tensor_value_info(DURATIONS))
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.log_severity_level = 3
        self._session = onnxruntime.InferenceSession(graph.SerializeToString(), options, ["CPUExecutionProvider"])

    def say(self, sentence: str, speed: float, seed: int) -> Spoken:
        """One sentence. The same sentence, speed and seed give the same samples."""
        respelt = re.sub(r"[A-Za-z]+", lambda m: self._respell(m.group()), sentence)
        phones = self._tts.g2p(respelt)
        ids = self._tts.ids(phones)
        *spectra, steps = self._session.run(
            None, {"ids": np.asarray([ids], np.int64), "speed": np.asarray([speed], np.float32)}
        )
        samples = dsp.synth(*(part[0] for part in spectra), np.random.default_rng(seed))
        if int(steps.sum()) * HOP != len(samples):
            raise ValueError(f"{int(steps.sum())} steps but {len(samples)} samples: {sentence!r}")
        return _trim(Spoken(samples, self._words(sentence, phones, np.asarray(steps).reshape(-1))))

    def _respell(self, word: str) -> str:
        phones = self._pronounced.get(word)
        return f"[{word}](/{phones}/)" if phones else word

    def _words(self, sentence: str, phones: str, steps: np.ndarray) -> tuple[tuple[str, float, float], ...]:
        known = [c for c in phones if c in self._tts.vocab]
        if len(known) + 2 != len(steps):
            raise ValueError(f"{len(known)} phones but {len(steps)} durations: {sentence!r}")
        ends = np.cumsum(steps) * HOP / RATE
        spans: list[list[float]] = []
        inside = False
        for index, phone in enumerate(known, start=1):
            sounds = phone.isalpha() or phone in "ˈˌːᵊ"
            if sounds and not inside:
                spans.append([float(ends[index - 1]), float(ends[index])])
            elif sounds:
                spans[-1][1] = float(ends[index])
            inside = sounds
        words = WORD.findall(sentence)
        if len(words) != len(spans):
            raise ValueError(f"{len(words)} words but {len(spans)} spoken: {sentence!r} {phones!r}")
        return tuple((word, *span) for word, span in zip(words, spans, strict=True))


def _trim(spoken: Spoken) -> Spoken:
    """Without the silence before and after, which the synthesiser counts into the last phone."""
    frame = RATE // 100
    count = len(spoken.samples) // frame
    loud = np.sqrt(np.mean(np.square(spoken.samples[: count * frame].reshape(count, frame)), axis=1))
    sounding = np.flatnonzero(loud > QUIET * loud.max())
    begin = max(0.0, spoken.words[0][1] - LEAD)
    end = min(spoken.words[-1][2], (int(sounding[-1]) + 1) * frame / RATE)
    words = [(word, first - begin, last - begin) for word, first, last in spoken.words]
    words[-1] = (words[-1][0], words[-1][1], end - begin)
    samples = spoken.samples[round(begin * RATE) : round((end + LEAD) * RATE)].copy()
    edge = np.linspace(0, 1, frame)
    samples[:frame] *= edge
    samples[-frame:] *= edge[::-1]
    return Spoken(samples, tuple(words))
