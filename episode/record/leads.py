"""What stands before and after a date and bends it: circa, doubt, before, after, from, onwards."""

from __future__ import annotations

from dataclasses import dataclass

from episode.record.numbers import cardinal
from episode.record.tokens import Token
from episode.record.wordlists import wordlist

MOST_WORDS = 8
"""A lead is at most this long, so that a text of nothing but leads stays linear."""


@dataclass(slots=True)
class Lead:
    """``start`` is the first word that belongs to the phrase, ``end`` where its unit must begin."""

    start: int
    end: int
    approximate: bool = False
    uncertain: bool = False
    bound: str = ""
    between: bool = False
    word: str = ""


@dataclass(slots=True)
class Tail:
    """What follows the unit: ``end`` is the index after it."""

    end: int
    approximate: bool = False
    uncertain: bool = False
    bound: str = ""
    give: int | None = None


_DOUBT_PAIRS = frozenset(
    {("might", "be"), ("could", "be"), ("may", "be"), ("i", "think"), ("i", "reckon"), ("i", "guess"), ("i", "believe"),
     ("i'd", "say"), ("i'd", "guess"), ("would", "be"), ("must", "be"), ("looks", "like"), ("i", "suppose")}
)  # fmt: skip
_QUIET_PAIRS = frozenset({("would", "be"), ("must", "be"), ("looks", "like")})
_BOUNDS: dict[tuple[str, ...], str] = {
    ("no", "earlier", "than"): "after",
    ("not", "earlier", "than"): "after",
    ("not", "before"): "after",
    ("later", "than"): "after",
    ("any", "time", "after"): "after",
    ("some", "time", "after"): "after",
    ("sometime", "after"): "after",
    ("no", "later", "than"): "before",
    ("not", "later", "than"): "before",
    ("not", "after"): "before",
    ("earlier", "than"): "before",
    ("older", "than"): "before",
    ("prior", "to"): "before",
    ("pre", "-"): "before",
    ("post", "-"): "after",
    ("up", "until"): "until",
    ("up", "till"): "until",
    ("right", "up", "to"): "until",
    ("up", "to"): "until",
    ("before",): "before",
    ("after",): "after",
    ("since",): "since",
    ("until",): "until",
    ("till",): "until",
    ("by",): "until",
    ("pre",): "before",
    ("post",): "after",
}


def first_words() -> frozenset[str]:
    """Every word with which a lead can begin."""
    firsts = {"between", "from", *(w[0] for w in _BOUNDS), *(p[0] for p in _DOUBT_PAIRS)}
    return wordlist("circa") | wordlist("doubt") | firsts


def lead_at(words: list[Token], at: int, *, joined: bool = False) -> Lead:
    """Read the lead at ``at``; ``joined`` is after a "to", where only circa and doubt make sense."""
    lead = Lead(start=at, end=at)
    here, last = at, min(at + MOST_WORDS, len(words))
    while here < last:
        step = _step(words, here, lead, joined=joined)
        if not step:
            break
        here += step
    lead.end = here
    return lead


def _step(words: list[Token], here: int, lead: Lead, *, joined: bool) -> int:
    word = words[here].word
    pair = (word, words[here + 1].word) if here + 1 < len(words) else ("", "")
    if pair in _DOUBT_PAIRS:
        lead.uncertain = lead.uncertain or pair not in _QUIET_PAIRS
        return 2
    if word in wordlist("circa"):
        if (
            word == "c"
            and here + 1 < len(words)
            and words[here + 1].word not in {"."}
            and not words[here + 1].is_number
        ):
            return 0
        if word == "c" and here + 1 < len(words) and words[here + 1].close and words[here + 1].digits == 2:
            return 0
        lead.approximate = True
        return 2 if here + 1 < len(words) and words[here + 1].word == "." else 1
    if word in wordlist("doubt"):
        lead.uncertain = True
        return 1
    if not joined and not lead.bound and not lead.between:
        if (word == "between" and pair[1] != "the") or (
            word == "between" and words[min(here + 2, len(words) - 1)].word != "wars"
        ):
            lead.between = True
            return 1
        if word == "from":
            lead.word = "from"
            return 1
        for length in (3, 2, 1):
            said = tuple(w.word for w in words[here : here + length])
            if said in _BOUNDS and not _part_of_name(words, here, said):
                lead.bound, lead.word = _BOUNDS[said], said[-1]
                return length
    if here > lead.start and word in wordlist("filler"):
        return 1
    if word == "the" and here + 1 < len(words):
        return 1
    return 0


def _part_of_name(words: list[Token], at: int, said: tuple[str, ...]) -> bool:
    return said[0] in {"pre", "post"} and any(w.word.startswith("med") for w in words[at + 1 : at + 3])


def tail_at(words: list[Token], at: int, *, open_end: bool) -> Tail:
    """What follows: "onwards", "or later", "or so", "-ish", "?", "give or take ten years", "maybe"."""
    tail = Tail(end=at)
    for _ in range(3):
        here = tail.end
        said = tuple(w.word for w in words[here : here + 3])
        if not said:
            break
        first = said[0]
        two = said[:2]
        if (
            open_end
            and not tail.bound
            and two in {("or", "later"), ("and", "later"), ("or", "after"), ("and", "after")}
        ):
            tail.bound, tail.end = "since", here + 2
        elif (
            open_end
            and not tail.bound
            and two in {("or", "earlier"), ("and", "earlier"), ("or", "before"), ("and", "before")}
        ):
            tail.bound, tail.end = "until", here + 2
        elif (open_end and not tail.bound and first in {"onwards", "onward", "forwards"}) or (
            open_end
            and not tail.bound
            and first == "on"
            and (len(said) == 1 or said[1] in {",", ".", ";"})
            and _from(words, here)
        ):
            tail.bound, tail.end = "since", here + 1
        elif two in {("or", "so"), ("or", "thereabouts"), ("or", "thereabout")}:
            tail.approximate, tail.end = True, here + 2
        elif first == "ish":
            tail.approximate, tail.end = True, here + 1
        elif two == ("-", "ish"):
            tail.approximate, tail.end = True, here + 2
        elif first == "?" and (words[here].close or _bracketed(words, here)):
            tail.uncertain, tail.end = True, here + 1
        elif said == ("(", "?", ")"):
            tail.uncertain, tail.end = True, here + 3
        elif first == "±" and here + 1 < len(words) and words[here + 1].value is not None:
            tail.give, tail.end = _capped(words[here + 1].value), here + 2
        elif said in {("give", "or", "take"), ("plus", "or", "minus")}:
            tail.approximate, tail.end = True, here + 3
            _give(words, tail)
        else:
            break
    return tail


def _from(words: list[Token], at: int) -> bool:
    return any(w.word == "from" for w in words[max(0, at - 8) : at])


def _bracketed(words: list[Token], at: int) -> bool:
    return at + 1 < len(words) and words[at + 1].word == ")"


def _give(words: list[Token], tail: Tail) -> None:
    here = tail.end + 1 if tail.end < len(words) and words[tail.end].word == "a" else tail.end
    scale = {"decade": 10, "few": 5, "couple": 2, "year": 1}.get(words[here].word) if here < len(words) else None
    if scale and here != tail.end:
        tail.give, tail.end = scale, here + 1
    else:
        found = cardinal(words, tail.end)
        if found is None:
            return
        tail.give, tail.end = _capped(found[0]), found[1]
    if tail.end < len(words) and words[tail.end].word in {"year", "years"}:
        tail.end += 1


def _capped(value: int | None) -> int:
    return min(value or 0, 1000)
