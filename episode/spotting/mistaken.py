"""What a term may be heard as: how its names are said, what else sounds like them, and what words they come out as."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any

from episode.lexicon.book import Lexicon
from episode.lexicon.names import name_key
from episode.lexicon.phones import PHONE, numbers, skeleton
from episode.lexicon.sounds import dictionary, sounds, sounds_from
from episode.models import How, Term
from episode.spotting.distance import distances
from episode.spotting.everyday import zipf
from episode.spotting.stream import name_tokens

FARTHEST = 1 / 3
"""Cost per phone beyond which two names are not easily taken for each other (the limit of the search by sound)."""
MOST_NEAR = 8
MOST_WORDINGS = 5
ORDINARY_ZIPF = 3.3
"""wordfreq's scale: a recogniser that does not know a name writes words at least about this common."""
PIECE_COST = 0.3
"""Cost per phone that a single word of a wording may have."""
WORD_COST = 0.3
RARE_COST = 0.1
"""What each word more, and each step of rarity below zipf 5, costs in the choice among wordings (not fitted)."""
LONGEST_PIECE = 9
LONGEST_SOUND = 24
_KEPT = 8


def mistaken(term: Term, lexicon: Lexicon) -> dict[str, Any]:
    """All that a term may be heard as, as plain values.

    Keys: ``term``, ``kind``; ``names`` (``name``, ``how``, ``phones`` in ARPAbet, ``words``: ``word``, ``phones``,
    ``from``); ``heard_as`` (known mishearings: ``name``, ``phones``, ``cost`` to the nearest of its names); ``near``
    (other terms that sound like it, nearest first: ``term``, ``kind``, ``name``, ``like`` the name of this term,
    ``cost``); ``wordings`` (ordinary words that it may come out as: ``words``, ``like``, ``cost``).

    Costs are weighted edits per phone, 0 for the same sound, the larger of both directions
    (``episode.spotting.distance``).
    """
    own = [(name, how) for name, found, how in lexicon.names() if name_key(found.term) == name_key(term.term)]
    told = [(name, how) for name, how in own if how is not How.MISHEARING]
    said = {name: _sound(name) for name, _ in told}
    return {
        "term": term.term,
        "kind": term.kind.value,
        "names": [_named(name, how) for name, how in told],
        "heard_as": [_misheard(name, list(said.values())) for name, how in own if how is How.MISHEARING],
        "near": _near(term, said, lexicon),
        "wordings": _wordings(said, {_plain(name) for name, _ in own}),
    }


def lines(known: dict[str, Any]) -> list[str]:
    """What ``mistaken`` gives, as lines of text."""
    shown = [f"{known['term']} ({known['kind']})", "  said:"]
    for name in known["names"]:
        origins = "; ".join(f"{w['word']}: {_ORIGINS.get(w['from'], w['from'])}" for w in name["words"])
        shown.append(f"    {name['name']}: {name['phones'] or 'no sound'} ({origins})")
    if known["heard_as"]:
        shown.append("  known mishearings:")
        shown += [f"    {one['name']}: {one['phones']}{_cost(one['cost'])}" for one in known["heard_as"]]
    if known["near"]:
        shown.append("  other terms that sound like it:")
        shown += [
            f"    {one['name']}{'' if name_key(one['name']) == name_key(one['term']) else ' (' + one['term'] + ')'}, "
            f"like {one['like']}{_cost(one['cost'])}"
            for one in known["near"]
        ]
    if known["wordings"]:
        shown.append("  ordinary words that it may come out as:")
        shown += [f"    {one['words']}, like {one['like']}{_cost(one['cost'])}" for one in known["wordings"]]
    return shown


_ORIGINS = {"trade": "the trade's own", "letters": "from its letters", "figures": "figure by figure"}


def _cost(cost: float | None) -> str:
    return "" if cost is None else f" [{cost:.2f} a phone]"


def _named(name: str, how: How) -> dict[str, Any]:
    known = sounds_from(name_tokens(name))
    words = [{"word": word, "phones": _arpabet(known[word][0]), "from": known[word][1]} for word in name_tokens(name)]
    return {"name": name, "how": how.value, "phones": _arpabet(_sound(name)), "words": words}


def _misheard(name: str, own: Sequence[str]) -> dict[str, Any]:
    sound = _sound(name)
    costs = _both_ways([(sound, other) for other in own])
    return {"name": name, "phones": _arpabet(sound), "cost": min((c for c in costs if c is not None), default=None)}


def _near(term: Term, said: dict[str, str], lexicon: Lexicon) -> list[dict[str, Any]]:
    """Other terms by the nearest of their names, known mishearings included; what stands above or below counts too."""
    others = [(name, found) for name, found, _ in lexicon.names() if name_key(found.term) != name_key(term.term)]
    known = sounds(token for name, _ in others for token in name_tokens(name))
    pairs: list[tuple[str, str, Term]] = []
    heard: list[tuple[str, str]] = []
    for name, found in others:
        sound = "".join(known[token] for token in name_tokens(name))
        for own, mine in said.items():
            # Each phone more than the other has costs something: too unlike in length is too unlike.
            if sound and mine and 0.6 < len(sound) / len(mine) < 1.7:
                pairs.append((own, name, found))
                heard.append((mine, sound))
    best: dict[str, tuple[float, str, str, Term]] = {}
    for (own, name, found), cost in zip(pairs, _both_ways(heard), strict=True):
        if cost is not None and cost <= FARTHEST:
            one = (cost, name, own, found)
            if found.term not in best or one[:3] < best[found.term][:3]:
                best[found.term] = one
    ranked = sorted(best.values(), key=lambda one: one[:3])[:MOST_NEAR]
    return [
        {"term": found.term, "kind": found.kind.value, "name": name, "like": own, "cost": cost}
        for cost, name, own, found in ranked
    ]


def _wordings(said: dict[str, str], names: set[str]) -> list[dict[str, Any]]:
    """Runs of ordinary words that sound like a name and are none of its names."""
    found: list[tuple[float, str, str, float]] = []
    for own, sound in said.items():
        if not 3 <= len(sound) <= LONGEST_SOUND:
            continue
        runs = [(words, badness) for badness, words in _split(sound) if _plain(" ".join(words)) not in names]
        costs = _both_ways([("".join(dictionary()[word] for word in words), sound) for words, _ in runs])
        found += [
            (badness, " ".join(words), own, cost)
            for (words, badness), cost in zip(runs, costs, strict=True)
            if cost is not None and cost <= FARTHEST
        ]
    best: dict[str, tuple[float, str, str, float]] = {}
    for one in sorted(found):
        best.setdefault(one[1], one)
    return [{"words": words, "like": own, "cost": cost} for _, words, own, cost in list(best.values())[:MOST_WORDINGS]]


def _split(sound: str) -> list[tuple[float, tuple[str, ...]]]:
    """The best ways to say a sound in ordinary words: dynamic programming over its places, a few ways kept at each."""
    pieces = [
        (begin, end)
        for begin in range(len(sound))
        for end in range(begin + 2, min(len(sound), begin + LONGEST_PIECE) + 1)
    ]
    asked = [(begin, end, word) for begin, end in pieces for word in _ordinary().get(skeleton(sound[begin:end]), ())]
    costs = _both_ways([(dictionary()[word], sound[begin:end]) for begin, end, word in asked])
    ending: dict[int, list[tuple[int, str, float]]] = {}
    for (begin, end, word), cost in zip(asked, costs, strict=True):
        if cost is not None and cost <= PIECE_COST:
            badness = cost * (end - begin) + WORD_COST + RARE_COST * max(0.0, 5.0 - zipf(word))
            ending.setdefault(end, []).append((begin, word, badness))
    ways: dict[int, list[tuple[float, tuple[str, ...]]]] = {0: [(0.0, ())]}
    for end in range(1, len(sound) + 1):
        here = [
            (round(so_far + badness, 6), (*words, word))
            for begin, word, badness in ending.get(end, ())
            for so_far, words in ways.get(begin, ())
        ]
        ways[end] = sorted(here)[:_KEPT]
    return [(badness / len(sound), words) for badness, words in ways[len(sound)]]


@cache
def _ordinary() -> dict[str, tuple[str, ...]]:
    """Common words of the pronouncing dictionary by their consonants."""
    found: dict[str, list[str]] = {}
    for word, sound in dictionary().items():
        if word.isalpha() and len(word) > 1 and zipf(word) >= ORDINARY_ZIPF:
            found.setdefault(skeleton(sound), []).append(word)
    return {key: tuple(words) for key, words in found.items()}


def _both_ways(pairs: Sequence[tuple[str, str]]) -> list[float | None]:
    """The larger cost of taking either sound for the other; nothing where one has no sound."""
    some = [n for n, (a, b) in enumerate(pairs) if a and b]
    if not some:
        return [None] * len(pairs)
    left, right = [numbers(pairs[n][0]) for n in some], [numbers(pairs[n][1]) for n in some]
    there, back = distances(left, right)[0], distances(right, left)[0]
    found: list[float | None] = [None] * len(pairs)
    for place, n in enumerate(some):
        found[n] = round(float(max(there[place], back[place])), 3)
    return found


def _sound(name: str) -> str:
    tokens = name_tokens(name)
    known = sounds(tokens)
    return "".join(known[token] for token in tokens)


def _arpabet(sound: Iterable[str]) -> str:
    return " ".join(PHONE[letter] for letter in sound)


def _plain(name: str) -> str:
    return "".join(name_tokens(name))
