"""How likely a name that sounds alike was said, from all the evidence at once.

A logistic combination; its weights are data (``vocab/spotting/sounds_like.json``), with how they were fitted.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from functools import cache
from typing import Any

from episode.errors import UnusableInput
from episode.lexicon.resources import vocab_root
from episode.spotting.alike import Candidate, merit
from episode.spotting.everyday import zipf
from episode.spotting.stream import Token

TEXT = (
    "one", "cost", "strange_cost", "merit", "margin", "probability", "least_probability", "rarest_heard", "commonest_heard",
    "rarest_name", "same", "same_rare", "length",
)  # fmt: skip
SOUND = (*TEXT, "ratio", "ratio_low", "ratio_a_phone")
LEAST_RATIO, MOST_RATIO = -40.0, 15.0
"""Nats: beyond these a likelihood ratio says no more."""


def evidence(one: Candidate, tokens: Sequence[Token], rivals: Sequence[Candidate]) -> dict[str, float]:
    """What the words say for and against a candidate; ``rivals`` are the clip's other candidates."""
    heard = tokens[one.first : one.last]
    name = set(one.name)
    strange = [token for token in heard if token.form not in name and token.form.rstrip("s") not in name] or heard
    shared = [token.form for token in heard if token.form in name or token.form.rstrip("s") in name]
    own = merit(one)
    best = max(
        (merit(c) for c in rivals if c.term.term != one.term.term and c.first < one.last and one.first < c.last),
        default=0.0,
    )
    rarities = [zipf(token.form) for token in strange]
    return {
        "one": 1.0,
        "cost": one.cost * 10,
        "strange_cost": one.strange_cost * 10,
        "merit": own,
        "margin": max(-2.0, min(2.0, own - best)),
        "probability": sum(token.word.probability for token in strange) / len(strange),
        "least_probability": min(token.word.probability for token in strange),
        "rarest_heard": min(rarities),
        "commonest_heard": max(rarities),
        "rarest_name": min(zipf(word) for word in one.name),
        "same": len(shared) / len(heard),
        "same_rare": max(0.0, 5.0 - min((zipf(word) for word in shared), default=5.0)),
        "length": math.log(one.phones),
    }


def believed(found: dict[str, float], ratio: float | None = None, *, logged: bool = False) -> float:
    """The chance, 0 to 1, that the name was said; ``ratio`` is the sound's word on it in nats, if it was asked."""
    weights = _weights()
    if ratio is None:
        total = sum(weights["text"][name] * found[name] for name in TEXT)
    else:
        both = {**found, **heard_again(ratio, found)}
        total = sum(weights["sound"][name] * both[name] for name in SOUND)
    total += weights["logged"] * logged
    return 1 / (1 + math.exp(-max(-30.0, min(30.0, total))))


def heard_again(ratio: float, found: dict[str, float]) -> dict[str, float]:
    """A log-likelihood ratio as evidence."""
    kept = max(LEAST_RATIO, min(MOST_RATIO, ratio))
    return {
        "ratio": kept / 10,
        "ratio_low": min(0.0, kept + 8.0) / 10,
        "ratio_a_phone": kept / math.exp(found["length"]),
    }


def threshold(name: str) -> float:
    """One of the limits that belong to the weights: ``accept``, ``accept_unheard``, ``listen``."""
    return float(_weights()[name])


@cache
def _weights() -> dict[str, Any]:
    path = vocab_root() / "spotting" / "sounds_like.json"
    try:
        found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise UnusableInput(
            f"cannot be read ({error})", where="vocab/spotting/sounds_like.json", remedy="Install the package again."
        ) from error
    return found
