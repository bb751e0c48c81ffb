"""Which names that sound alike were said: candidates, the sound's word on them, and the choice between them."""

from __future__ import annotations

from collections.abc import Sequence

from episode.models import How
from episode.spotting.alike import Alike, Candidate
from episode.spotting.judge import believed, evidence, threshold
from episode.spotting.listening import LONGEST_S, Listener, Question
from episode.spotting.names import Span, plurals
from episode.spotting.near import SHORTEST_LETTERS
from episode.spotting.stream import Token

AROUND_S = 3.5
"""Seconds of speech either side that are listened to along with the words in question."""
EDGE_S = 0.25


def sound_spans(
    tokens: Sequence[Token],
    taken: Sequence[Span],
    alike: Alike,
    *,
    clip: str,
    logged: frozenset[str] = frozenset(),
    listen: Listener | None = None,
) -> list[Span]:
    """Spans read as names by their sound, none overlapping another; ``likeness`` is the chance that it was said.

    With ``listen``, candidates that deserve it are asked of the sound, and judged by its answer too.
    """
    found = alike.find(tokens, taken)
    known = [(one, evidence(one, tokens, found)) for one in found]
    chances = [believed(told, logged=one.term.term in logged) for one, told in known]
    # Without the sound's word a short name is too easily like something else.
    limits = [threshold("accept_unheard") if len("".join(one.name)) >= SHORTEST_LETTERS else 1.1 for one in found]
    if listen is not None:
        asked = [n for n, chance in enumerate(chances) if chance >= threshold("listen")]
        answers = listen([question(found[n], tokens, clip, alike) for n in asked])
        for n, ratio in zip(asked, answers, strict=True):
            if ratio is not None:
                chances[n] = believed(known[n][1], ratio, logged=found[n].term.term in logged)
                limits[n] = threshold("accept")
    return _apart([(chances[n], one) for n, one in enumerate(found) if chances[n] >= limits[n]])


def question(one: Candidate, tokens: Sequence[Token], clip: str, alike: Alike) -> Question:
    """The words around a candidate as they were heard and with the name in place."""
    first, last = one.first, one.last
    begin, end = tokens[first].word.start, tokens[last - 1].word.end
    # Whole words: a hyphenated one is several tokens.
    while first > 0 and tokens[first - 1].word is tokens[first].word:
        first -= 1
    while last < len(tokens) and tokens[last].word is tokens[last - 1].word:
        last += 1
    spare = max(0.0, min(AROUND_S, (LONGEST_S - 2 * EDGE_S - (end - begin)) / 2))
    left, right = first, last
    while left > 0 and tokens[left - 1].word.start >= begin - spare:
        left -= 1
    while right < len(tokens) and tokens[right].word.end <= end + spare:
        right += 1
    before, own, after = (_words(tokens[a:b]) for a, b in ((left, first), (first, last), (last, right)))
    return Question(
        clip=clip,
        start=round(max(0.0, tokens[left].word.start - EDGE_S), 2),
        end=round(max(tokens[right - 1].word.end, tokens[left].word.start + 0.5) + EDGE_S, 2),
        heard=" ".join((*before, *own, *after)),
        instead=" ".join((*before, _dressed(one, own, alike), *after)),
    )


def _words(tokens: Sequence[Token]) -> list[str]:
    found: list[str] = []
    for place, token in enumerate(tokens):
        if place == 0 or token.word is not tokens[place - 1].word:
            found.append(token.word.word.strip())
    return found


def _dressed(one: Candidate, own: Sequence[str], alike: Alike) -> str:
    """The name with the capital and the stop of the words that it stands for."""
    name = alike.spelt.get(one.name, " ".join(one.name))
    if one.plural:
        forms = plurals(tuple(name.split()))
        name = " ".join(forms[0]) if forms else name
    text = " ".join(own)
    letters = [c for c in text if c.isalpha()]
    if letters and letters[0].isupper():
        name = name[:1].upper() + name[1:]
    lead = text[: len(text) - len(text.lstrip("\"'“‘(["))]
    tail = text[len(text.rstrip(".,;:?!…\"'”’)]—–-")) :]
    return lead + name + tail


def _apart(rated: list[tuple[float, Candidate]]) -> list[Span]:
    kept: list[tuple[float, Candidate]] = []
    for chance, one in sorted(rated, key=lambda r: (-r[0], r[1].first, r[1].last, r[1].name)):
        if all(one.last <= other.first or other.last <= one.first for _, other in kept):
            kept.append((chance, one))
    spans = [Span(one.first, one.last, one.term, How.SOUNDS_LIKE, round(chance, 3), one.plural) for chance, one in kept]
    return sorted(spans, key=lambda span: span.first)
