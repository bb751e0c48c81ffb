"""Word times brought to where the sound of the words is.

The recogniser times words by its attention, and lets them run into the pauses on both sides: a word after a
pause may begin half a second early. A detector of voice activity knows better where speech begins and ends.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RATE = 16_000
PAUSE_MS = 100
"""Shorter silences are part of a word (a stop consonant)."""
PAUSE_INSIDE_S = 0.3
PAD_MS = 30
LEAST_S = 0.04
"""A word keeps its times rather than become shorter than this."""


def voiced(samples: NDArray[np.float32], *, threshold: float) -> list[tuple[float, float]]:
    """Where somebody speaks in mono samples at 16 kHz: start and end in seconds, in order, apart."""
    from faster_whisper.vad import VadOptions, get_speech_timestamps

    options = VadOptions(threshold=threshold, min_silence_duration_ms=PAUSE_MS, speech_pad_ms=PAD_MS)
    return [(part["start"] / RATE, part["end"] / RATE) for part in get_speech_timestamps(samples, options)]


def drawn_in(start: float, end: float, speech: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The part of ``start`` to ``end`` from its first to its last speech; unchanged where there is none.

    Nobody pauses inside a word: of speech on both sides of a pause, the later is taken, because the attention
    gives pauses to the word that follows.
    """
    at = max(0, bisect_right(speech, (start, float("inf"))) - 1)
    inside = []
    for begin, until in speech[at:]:
        if begin >= end:
            break
        if until > start:
            inside.append((max(begin, start), min(until, end)))
    for index in range(len(inside) - 1, 0, -1):
        if inside[index][0] - inside[index - 1][1] >= PAUSE_INSIDE_S and inside[-1][1] - inside[index][0] >= LEAST_S:
            inside = inside[index:]
            break
    if not inside or inside[-1][1] - inside[0][0] < LEAST_S:
        return start, end
    return inside[0][0], inside[-1][1]
