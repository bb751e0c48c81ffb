"""How far a mention can be believed, as one number."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import fmean

from episode.models import How
from episode.spotting.names import Span
from episode.spotting.stream import Token

_BASE = {
    How.WRITTEN: 0.95,
    How.OTHER_NAME: 0.92,
    How.MISHEARING: 0.8,
    How.NEAR_SPELLING: 0.75,
}
EVERYDAY = 0.8
LOGGED = 0.4
"""The part of the remaining doubt that the log takes away when it names the term."""


def score(span: Span, tokens: Sequence[Token], *, everyday: bool, logged: bool) -> float:
    """0 to 1, rising with the evidence: how it matched, how sure the recogniser was, an uncommon name, the log.

    Not calibrated on real narration: it orders mentions, it is no probability of their being right.
    """
    if span.how is How.SOUNDS_LIKE:
        # Judged as a whole already, the log included.
        return round(span.likeness * (EVERYDAY if everyday else 1.0), 3)
    heard = fmean([token.word.probability for token in tokens]) if tokens else 1.0
    value = _BASE[span.how] * span.likeness
    if span.how in (How.WRITTEN, How.OTHER_NAME):
        value *= 0.6 + 0.4 * heard
    else:
        # Where the words are not the name's own, a sure recogniser speaks against it.
        value *= 1.0 - 0.3 * heard
    if everyday:
        value *= EVERYDAY
    if logged:
        value += (1.0 - value) * LOGGED
    return round(min(1.0, max(0.0, value)), 3)
