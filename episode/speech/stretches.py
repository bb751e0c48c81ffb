"""Cutting a clip's sound where nobody speaks, so that each stretch can be heard by itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, NamedTuple, Protocol

from episode.errors import EpisodeError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RATE = 16_000
LONGEST_S = 240.0
"""A stop loses at most one stretch; shorter ones waste more of the recogniser's 30 s windows."""
LOOK_BACK_S = 45.0
"""The cut is looked for in this much of the end of a stretch."""
PAUSE_S = 0.3
"""A silence this long is between words, not inside one (common practice, no source)."""
LEAST_SPEECH_S = 0.5
GAP_S = 0.05
"""Sound that begins this much later than the last ended is a break in the recording."""


class Stretch(NamedTuple):
    """Sound without a break: ``start`` in seconds from the clip's beginning, mono float samples at 16 kHz."""

    start: float
    samples: NDArray[np.float32]

    @property
    def end(self) -> float:
        """Seconds from the clip's beginning."""
        return self.start + len(self.samples) / RATE


class Sound(Protocol):
    """A piece of sound as the footage room gives it."""

    @property
    def start(self) -> float: ...  # noqa: D102
    @property
    def samples(self) -> NDArray[np.float32]: ...  # noqa: D102


def stretches(pieces: Iterable[Sound], *, longest: float = LONGEST_S) -> Iterator[Stretch]:
    """Join consecutive pieces and cut them again, at silences, into stretches of at most ``longest`` seconds.

    Memory holds one stretch and one piece. When the source fails midway, what came before is given first.

    Raises:
        EpisodeError: whatever the source raised.
    """
    import numpy as np

    start = 0.0
    held: NDArray[np.float32] = np.zeros(0, dtype=np.float32)
    broken: EpisodeError | None = None
    source = iter(pieces)
    while True:
        try:
            piece = next(source, None)
        except EpisodeError as error:
            broken, piece = error, None
        if piece is None:
            break
        samples = np.nan_to_num(np.asarray(piece.samples, dtype=np.float32).reshape(-1))
        if len(held) and abs(piece.start - (start + len(held) / RATE)) > GAP_S:
            yield Stretch(start, held)
            held = held[:0]
        if not len(held):
            start = float(piece.start)
        held = np.concatenate((held, samples))
        while len(held) > longest * RATE:
            cut = _quietest(held[: int(longest * RATE)])
            yield Stretch(start, held[:cut])
            held = held[cut:]
            start += cut / RATE
    if len(held):
        yield Stretch(start, held)
    if broken is not None:
        raise broken


def may_speak(samples: NDArray[np.float32]) -> bool:
    """Whether half a second or more of ``samples`` (mono, 16 kHz) sounds like speech (Silero)."""
    from faster_whisper.vad import VadOptions, get_speech_timestamps

    speech = get_speech_timestamps(samples, VadOptions(speech_pad_ms=0))
    return bool(sum(part["end"] - part["start"] for part in speech) >= LEAST_SPEECH_S * RATE)


def _quietest(samples: NDArray[np.float32]) -> int:
    """Where to cut, as a sample number: the quietest moment of the last part's longest pause, else of it all."""
    from faster_whisper.vad import VadOptions, get_speech_timestamps

    begin = max(len(samples) - int(LOOK_BACK_S * RATE), len(samples) // 2)
    end = samples[begin:]
    speech = get_speech_timestamps(end, VadOptions(min_silence_duration_ms=int(PAUSE_S * 1000), speech_pad_ms=0))
    edges = [0, *(edge for part in speech for edge in (part["start"], part["end"])), len(end)]
    pauses = [(edges[i + 1] - edges[i], edges[i]) for i in range(0, len(edges), 2)]
    longest, at = max(pauses)
    if longest >= PAUSE_S * RATE:
        return int(begin + at + _least_energy(end[at : at + longest]))
    return begin + _least_energy(end)


def _least_energy(samples: NDArray[np.float32]) -> int:
    import numpy as np

    step = RATE // 100
    width = int(PAUSE_S * 100)
    frames = samples[: len(samples) // step * step].reshape(-1, step).astype(np.float64)
    energy = (frames**2).sum(axis=1)
    if len(energy) <= width:
        return max(1, len(samples) // 2)
    smooth = np.convolve(energy, np.ones(width), mode="valid")
    return (int(np.argmin(smooth)) + width // 2) * step
