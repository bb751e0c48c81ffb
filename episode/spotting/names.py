"""Names in the words as they were transcribed: every form of every name, in one pass."""

from __future__ import annotations

import bisect
import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ahocorasick_rs import AhoCorasick

from episode.models import How, Term
from episode.spotting.stream import Token, name_tokens

LONGEST_BORDER_PAUSE_S = 0.5
"""A name may run over a full stop when the pause there is no longer than this."""
SHORTEST_PIECE = 3
"""A name written in pieces that are not its own words ("log boat" for "logboat") needs pieces this long."""

_HOWS = (How.WRITTEN, How.OTHER_NAME, How.MISHEARING)
_LINKS = frozenset({"of", "with", "for", "in", "on", "from", "de", "and"})
_IRREGULAR = {
    "knife": "knives", "loaf": "loaves", "leaf": "leaves", "half": "halves", "shelf": "shelves", "calf": "calves",
    "foot": "feet", "tooth": "teeth", "goose": "geese", "mouse": "mice", "man": "men", "woman": "women",
    "child": "children", "die": "dice", "penny": "pence", "wife": "wives", "wolf": "wolves", "staff": "staves",
    "axis": "axes", "ox": "oxen",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Span:
    """Tokens ``first`` to ``last`` (exclusive) of a clip's stream read as one term. ``likeness`` is 0 to 1."""

    first: int
    last: int
    term: Term
    how: How
    likeness: float = 1.0
    plural: bool = False


class Names:
    """All names of a lexicon, ready to be looked for. Building it costs about 10 microseconds a name."""

    def __init__(self, names: Iterable[tuple[str, Term, How]]) -> None:
        names = list(names)
        self.spelt: dict[tuple[str, ...], str] = {}
        for name, _, how in names:
            if how in (How.WRITTEN, How.OTHER_NAME):
                self.spelt.setdefault(name_tokens(name), name)
        listed = sorted(
            ((name_tokens(name), term, how) for name, term, how in names),
            key=lambda row: _HOWS.index(row[2]) if row[2] in _HOWS else len(_HOWS),
        )
        self.listed = [(tokens, term, how) for tokens, term, how in listed if tokens]
        self._forms: dict[str, tuple[tuple[str, ...], Term, How, bool]] = {}
        for tokens, term, how in self.listed:
            self._forms.setdefault("".join(tokens), (tokens, term, how, False))
        for tokens, term, how in self.listed:
            for form in plurals(tokens):
                self._forms.setdefault("".join(form), (form, term, how, True))
        self._patterns = list(self._forms)
        self._automaton = AhoCorasick(self._patterns) if self._patterns else None

    def find(self, tokens: Sequence[Token]) -> list[Span]:
        """Every occurrence, overlapping ones included, in order of place.

        The text is searched without its spaces, so that joined and split words match alike; an occurrence
        counts where it begins and ends with a token.
        """
        if self._automaton is None or not tokens:
            return []
        starts: list[int] = []
        at = 0
        for token in tokens:
            starts.append(at)
            at += len(token.form)
        text = "".join(token.form for token in tokens)
        begins = {place: index for index, place in enumerate(starts) if tokens[index].form}
        found: list[Span] = []
        for pattern, start, end in self._automaton.find_matches_as_indexes(text, overlapping=True):
            first = begins.get(start)
            if first is None:
                continue
            last = bisect.bisect_left(starts, end)
            if last < len(starts) and starts[last] != end:
                continue
            if last == len(starts) and end != at:
                continue
            form, term, how, plural = self._forms[self._patterns[pattern]]
            if _pieces_fit(form, tokens[first:last]) and _border_fits(tokens[first:last]):
                found.append(Span(first, last, term, how, plural=plural))
        return sorted(found, key=lambda span: (span.first, -span.last, span.term.term))


def plurals(tokens: tuple[str, ...]) -> list[tuple[str, ...]]:
    """The name with its head word in the plural or the possessive; an already plural head also without its s.

    The head is the last word, or the word before "of", "with" and their like ("piece of eight").
    """
    head = next((i - 1 for i, word in enumerate(tokens) if word in _LINKS and i > 0), len(tokens) - 1)
    word = tokens[head]
    forms = [_IRREGULAR[word]] if word in _IRREGULAR else []
    if len(word) < 2 or word.isdigit():
        return []
    if word.endswith(("s", "x", "z", "ch", "sh")):
        forms.append(word + "es")
        if word.endswith("s") and not word.endswith(("ss", "us", "is")) and len(word) > 4:
            forms.append(word[:-1])
    elif word.endswith("y") and word[-2] not in "aeiou":
        forms += [word[:-1] + "ies", word + "s"]
    else:
        forms.append(word + "s")
    return [(*tokens[:head], form, *tokens[head + 1 :]) for form in forms]


def longest(spans: Iterable[Span]) -> list[Span]:
    """The spans that stay when names overlap, in order of place.

    A name inside a longer one goes. Where two overlap in part, they are one compound, whose last part is
    its head ("clay pipe" and "pipe bowl" in "clay pipe bowl"): the later one stays and takes in the words
    of the earlier, unless they name things of different kinds (a ware and an object), when both stay.
    """
    ordered = sorted(spans, key=lambda s: (s.last - s.first, s.likeness, s.last, -_rank(s)), reverse=True)
    kept: list[Span] = []
    reach: dict[int, int] = {}  # for each token of a kept span, the furthest end of those that hold it
    for span in ordered:
        if reach.get(span.first, -1) < span.last:
            kept.append(span)
            for place in range(span.first, span.last):
                reach[place] = max(reach.get(place, -1), span.last)
    kept.sort(key=lambda s: (s.first, s.last))
    heads: list[Span] = []
    for span in kept:
        before = heads[-1] if heads else None
        if before is not None and before.last > span.first and before.term.kind == span.term.kind:
            if span.how in _HOWS or before.how not in _HOWS:
                heads[-1] = Span(before.first, span.last, span.term, span.how, span.likeness, span.plural)
            continue
        heads.append(span)
    return heads


def _pieces_fit(form: tuple[str, ...], tokens: Sequence[Token]) -> bool:
    pieces = tuple(token.form for token in tokens)
    if pieces == form or len(pieces) == 1:
        return True
    cuts, at = set(), 0
    for word in form:
        at += len(word)
        cuts.add(at)
    at = 0
    strange = False
    for piece in pieces:
        at += len(piece)
        strange |= at not in cuts
    return not strange or all(len(piece) >= SHORTEST_PIECE for piece in pieces)


def _border_fits(tokens: Sequence[Token]) -> bool:
    borders = [a for a, b in itertools.pairwise(tokens) if a.sentence != b.sentence]
    if not borders:
        # A comma, a question mark or a long pause inside a name means two things side by side.
        return all(token.after in ("", ".") and token.gap < 2 * LONGEST_BORDER_PAUSE_S for token in tokens[:-1])
    return len(borders) == 1 and borders[0].after != "?" and borders[0].gap <= LONGEST_BORDER_PAUSE_S


def _rank(span: Span) -> int:
    return _HOWS.index(span.how) if span.how in _HOWS else len(_HOWS)
