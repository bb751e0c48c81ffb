"""A stretch of a clip's sound, for a browser that cannot play the clip itself."""

from __future__ import annotations

import io
import wave

from episode.errors import UnusableMedia
from episode.footage.sound import pieces
from episode.models import Clip

LONGEST_S = 120.0
RATE = 22_050


def excerpt(clip: Clip, start: float, end: float) -> bytes:
    """The clip's sound from ``start`` to ``end`` seconds (at most two minutes) as a WAV file, 16 bits, mono.

    Raises:
        UnusableMedia: no sound can be decoded there.
    """
    import numpy as np

    start = max(0.0, start)
    until = min(end, start + LONGEST_S, clip.duration)
    heard = list(pieces(clip, begin=start, until=until, rate=RATE)) if until > start else []
    if not heard:
        raise UnusableMedia(
            "there is no sound", where=f"{clip.name} at {int(start) // 60}:{int(start) % 60:02d}", remedy="Look only."
        )
    samples = np.concatenate([piece.samples for piece in heard])
    whole = io.BytesIO()
    with wave.open(whole, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return whole.getvalue()
