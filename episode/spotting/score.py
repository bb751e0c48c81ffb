"""How far a mention can be believed, as one number: the chance that the thing is named there.

Names as written are judged by a logistic combination whose weights are data (``vocab/spotting/written.json``, with how
they were fitted); names by near spelling or sound were judged already (``episode.spotting.judge``).
``tests/bench/hearing.py`` prints how often a score of so much is right.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import fmean

from episode.models import How
from episode.spotting.everyday import zipf
from episode.spotting.names import Span
from episode.spotting.stream import Token
from episode.spotting.weights import weights as fitted

WRITTEN = (
    "one",
    "other_name",
    "mishearing",
    "everyday",
    "words",
    "rarest",
    "length",
    "probability",
    "least_probability",
)
SUREST = 0.999


def score(span: Span, tokens: Sequence[Token], *, everyday: bool, logged: bool) -> float:
    """0 to 1: how it matched, how sure the recogniser was, how common the name is in ordinary talk, the log."""
    if span.how in (How.NEAR_SPELLING, How.SOUNDS_LIKE):
        return round(min(SUREST, span.likeness), 3)
    weights = fitted("written.json")
    told = written_evidence(span.how, tokens, everyday=everyday)
    total = sum(weights["weights"][name] * told[name] for name in WRITTEN) + weights["logged"] * logged
    return round(min(SUREST, 1 / (1 + math.exp(-max(-30.0, min(30.0, total))))), 3)


def written_evidence(how: How, tokens: Sequence[Token], *, everyday: bool) -> dict[str, float]:
    """What speaks for and against a name that was written as it is."""
    sure = [token.word.probability for token in tokens] or [1.0]
    return {
        "one": 1.0,
        "other_name": float(how is How.OTHER_NAME),
        "mishearing": float(how is How.MISHEARING),
        "everyday": float(everyday),
        "words": float(min(3, len(tokens))),
        "rarest": min((zipf(token.form) for token in tokens), default=0.0),
        "length": math.log(max(1, sum(len(token.form) for token in tokens))),
        "probability": fmean(sure),
        "least_probability": min(sure),
    }
