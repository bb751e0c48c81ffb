"""From the script to sound with times: every sentence placed, every mention, claim and promise timed."""

from __future__ import annotations

import random
import re
from dataclasses import dataclass, field

import numpy as np
from parts import ClipScript, Say, Walk
from voice import RATE, WORD, Voice

FRAMES_A_SECOND = 5
PAUSES = (0.3, 0.4, 0.45, 0.5, 0.6, 0.7, 0.8, 0.9, 1.1, 1.4)
"""Seconds between sentences, as somebody talks who is looking at something."""
MARK = re.compile(r"\{([^|{}]+)\|([^|{}]+)\|([^|{}]+)\}")


@dataclass(frozen=True)
class Named:
    start: float
    end: float
    heard: str
    term: str
    stance: str


@dataclass(frozen=True)
class Placed:
    """A sentence in its clip, in seconds from the clip's first frame.

    ``begins`` is where its samples go; ``start`` and ``end`` are its first and last sounds.
    """

    say: Say
    text: str
    begins: float
    start: float
    end: float
    words: tuple[tuple[float, float, str], ...]
    mentions: tuple[Named, ...]
    samples: np.ndarray = field(repr=False)

    def span(self, words: str) -> tuple[float, float]:
        """When these words of the sentence are said."""
        at = self.text.index(words)
        first = len(WORD.findall(self.text[:at]))
        last = first + len(WORD.findall(words)) - 1
        return self.words[first][0], self.words[last][1]


@dataclass(frozen=True)
class Timeline:
    script: ClipScript
    duration: float
    placed: tuple[Placed, ...]
    walks: tuple[tuple[float, float], ...]


def lay_out(script: ClipScript, voice: Voice, seed: int) -> Timeline:
    """Speak the clip's sentences one after another, with pauses drawn from ``seed``."""
    draw = random.Random(seed)
    now, placed, walks = 0.0, [], []
    for number, part in enumerate(script.parts):
        if isinstance(part, Walk):
            walks.append((now, part.seconds))
            now += part.seconds
            continue
        placed.append(_place(part, voice, now, seed * 1000 + number))
        now = placed[-1].begins + len(placed[-1].samples) / RATE
        now += part.pause if part.pause is not None else draw.choice(PAUSES)
    frames = -(-int(now * 1000) * FRAMES_A_SECOND // 1000)
    return Timeline(script, frames / FRAMES_A_SECOND, tuple(placed), tuple(walks))


def _place(say: Say, voice: Voice, now: float, seed: int) -> Placed:
    text = MARK.sub(lambda m: m.group(1), say.text)
    spoken = voice.say(text, say.speed, seed)
    start = round(now * RATE) / RATE
    words = tuple((start + begin, start + end, word) for word, begin, end in spoken.words)
    mentions, shift = [], 0
    for mark in MARK.finditer(say.text):
        heard, term, stance = mark.groups()
        at = mark.start() - shift
        first = len(WORD.findall(text[:at]))
        last = first + len(WORD.findall(heard)) - 1
        mentions.append(Named(words[first][0], words[last][1], heard, term, stance))
        shift += len(mark.group()) - len(heard)
    return Placed(say, text, start, words[0][0], words[-1][1], words, tuple(mentions), spoken.samples)
