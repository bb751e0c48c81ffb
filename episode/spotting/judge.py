"""How likely a name that sounds alike was said, from all the evidence at once.

A logistic combination; its weights are data (``vocab/spotting/sounds_like.json``), with how they were fitted. There is
one for words that carry the recogniser's confidence (``text``), one for captions, which do not (``flat``), and one
with the sound's answer (``sound``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from rapidfuzz.fuzz import ratio

from episode.spotting.alike import Candidate, merit
from episode.spotting.everyday import zipf
from episode.spotting.stream import Token
from episode.spotting.weights import weights as fitted

FLAT = (
    "one", "cost", "strange_cost", "away", "merit", "margin", "letters", "rarest_heard", "commonest_heard", "rarest_name",
    "same", "same_rare", "length", "noun", "words",
)  # fmt: skip
TEXT = (*FLAT, "probability", "least_probability")
SOUND = (*TEXT, "ratio", "ratio_low", "ratio_a_phone", "lead")
LEAST_RATIO, MOST_RATIO = -30.0, 15.0
"""Nats: beyond these a likelihood ratio says no more."""

_BEFORE_NOUNS = frozenset(
    "a an the this that these those another some any my our your his her its their of old little tiny small big lovely "
    "nice broken complete no two three four five six several more same proper whole single".split()
)


def evidence(found: Sequence[Candidate], tokens: Sequence[Token]) -> list[dict[str, float]]:
    """What the words say for and against each candidate; they are one another's rivals where they overlap."""
    return [_evidence(one, tokens, best) for one, best in zip(found, _rivals(found), strict=True)]


def believed(
    found: dict[str, float], sound: tuple[float, float] | None = None, *, logged: bool = False, flat: bool = False
) -> float:
    """The chance, 0 to 1, that the name was said.

    ``sound`` is the sound's word on it in nats, if it was asked: as against what was written, and as against the best
    rival. ``flat`` words carry no confidence of their own.
    """
    weights = fitted("sounds_like.json")
    if sound is None:
        total = sum(weights["flat" if flat else "text"][name] * found[name] for name in (FLAT if flat else TEXT))
    else:
        both = {**found, **heard_again(*sound, found)}
        total = sum(weights["sound"][name] * both[name] for name in SOUND)
    total += weights["logged"] * logged
    return 1 / (1 + math.exp(-max(-30.0, min(30.0, total))))


def heard_again(ratio: float, lead: float, found: dict[str, float]) -> dict[str, float]:
    """A log-likelihood ratio, and its lead over the best rival's, as evidence."""
    kept = max(LEAST_RATIO, min(MOST_RATIO, ratio))
    return {
        "ratio": kept / 10,
        "ratio_low": min(0.0, kept + 8.0) / 10,
        "ratio_a_phone": kept / math.exp(found["length"]),
        "lead": max(-MOST_RATIO, min(MOST_RATIO, lead)) / 10,
    }


def threshold(name: str) -> float:
    """One of the limits that belong to the weights: ``accept``, ``accept_unheard``, ``accept_flat``, ``listen``."""
    return float(fitted("sounds_like.json")[name])


def _rivals(found: Sequence[Candidate]) -> list[float]:
    """For each candidate the merit of the best one of another term that overlaps it."""
    by_place: dict[int, list[tuple[float, str]]] = {}
    merits = [merit(one) for one in found]
    for one, value in zip(found, merits, strict=True):
        for place in range(one.first, one.last):
            by_place.setdefault(place, []).append((value, one.term.term))
    for listed in by_place.values():
        listed.sort(reverse=True)
    best: list[float] = []
    for one in found:
        values = (
            next((value for value, term in by_place[place] if term != one.term.term), 0.0)
            for place in range(one.first, one.last)
        )
        best.append(max(values, default=0.0))
    return best


def _evidence(one: Candidate, tokens: Sequence[Token], rival: float) -> dict[str, float]:
    heard = tokens[one.first : one.last]
    name = set(one.name)
    strange = [token for token in heard if token.form not in name and token.form.rstrip("s") not in name] or heard
    shared = [token.form for token in heard if token.form in name or token.form.rstrip("s") in name]
    rarities = [zipf(token.form) for token in strange]
    own = merit(one)
    return {
        "one": 1.0,
        "cost": one.cost * 10,
        "strange_cost": one.strange_cost * 10,
        "away": one.away * 10,
        "merit": own,
        "margin": max(-2.0, min(2.0, own - max(0.0, rival))),
        "letters": ratio("".join(token.form for token in heard), "".join(one.name)) / 100,
        "rarest_heard": min(rarities),
        "commonest_heard": max(rarities),
        "rarest_name": min(zipf(word) for word in one.name),
        "same": len(shared) / len(heard),
        "same_rare": max(0.0, 5.0 - min((zipf(word) for word in shared), default=5.0)),
        "length": math.log(one.phones),
        "noun": float(one.first > 0 and tokens[one.first - 1].form in _BEFORE_NOUNS),
        "words": float(len(heard)),
        "probability": sum(token.word.probability for token in strange) / len(strange),
        "least_probability": min(token.word.probability for token in strange),
    }
