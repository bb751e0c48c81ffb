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
HOP = 300
"""Samples in one of the synthesiser's frames; durations are whole frames."""
DURATIONS = "/Clip_output_0"
"""The graph's value that holds each phone's length in frames (Round, then Clip)."""


WORD = re.compile(r"[A-Za-z]+(?:['-][A-Za-z]+)*")


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
        *spectra, frames = self._session.run(
            None, {"ids": np.asarray([ids], np.int64), "speed": np.asarray([speed], np.float32)}
        )
        samples = dsp.synth(*(part[0] for part in spectra), np.random.default_rng(seed))
        return Spoken(samples, self._words(sentence, phones, np.asarray(frames).reshape(-1)))

    def _respell(self, word: str) -> str:
        phones = self._pronounced.get(word)
        return f"[{word}](/{phones}/)" if phones else word

    def _words(self, sentence: str, phones: str, frames: np.ndarray) -> tuple[tuple[str, float, float], ...]:
        known = [c for c in phones if c in self._tts.vocab]
        if len(known) + 2 != len(frames):
            raise ValueError(f"{len(known)} phones but {len(frames)} durations: {sentence!r}")
        ends = np.cumsum(frames) * HOP / RATE
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
