"""Which names that sound alike were said: candidates, the sound's word on them, and the choice between them."""

from __future__ import annotations

from collections.abc import Sequence

from episode.models import How
from episode.spotting.alike import Alike, Candidate, is_flat
from episode.spotting.judge import believed, evidence, threshold
from episode.spotting.listening import LONGEST_S, Listener, Question
from episode.spotting.names import Span, plurals
from episode.spotting.stream import Token

MOST_ASKED = 10
"""Names that the recogniser is told and asked about in one stretch: ten do better than twenty (common practice)."""
LONGEST_STRETCH = 12
AROUND_S = 3.5
"""Seconds of speech either side that are listened to along with the words in question."""
EDGE_S = 0.25
SHORTEST_LETTERS = 7
NEAR_LETTERS = 0.8
"""From this share of letters in common on (rapidfuzz ratio) a name was spelt otherwise, below it only sounds alike."""


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

    With ``listen``, candidates that deserve it are asked of the sound, and judged by its answer too. Words that
    all carry one confidence (captions) are judged without it.
    """
    found = alike.find(tokens, taken)
    known = list(zip(found, evidence(found, tokens), strict=True))
    flat = is_flat(tokens)
    chances = [believed(told, logged=one.term.term in logged, flat=flat) for one, told in known]
    # Without the sound's word a short name is too easily like something else.
    unheard = threshold("accept_flat" if flat else "accept_unheard")
    limits = [unheard if len("".join(one.name)) >= SHORTEST_LETTERS else 1.1 for one in found]
    if listen is not None:
        groups = stretches(found, chances, least=threshold("listen"))
        asked = [n for group in groups for n in group]
        answers = listen([q for group in groups for q in questions([found[n] for n in group], tokens, clip, alike)])
        for n, told in zip(asked, compared([found[n] for n in asked], answers), strict=True):
            if told is not None:
                chances[n] = believed(known[n][1], told, logged=found[n].term.term in logged)
                limits[n] = threshold("accept")
    kept = [n for n, chance in enumerate(chances) if chance >= limits[n]]
    return _apart([(chances[n], found[n], known[n][1]["letters"]) for n in kept])


def stretches(found: Sequence[Candidate], chances: Sequence[float], *, least: float) -> list[list[int]]:
    """The candidates that deserve to be asked, in groups that overlap; of each the ``MOST_ASKED`` likeliest."""
    groups: list[list[int]] = []
    end = -1
    for n in sorted(range(len(found)), key=lambda n: (found[n].first, found[n].last, found[n].name)):
        if chances[n] < least:
            continue
        begin = found[groups[-1][0]].first if groups else 0
        if groups and found[n].first < end and max(end, found[n].last) - begin <= LONGEST_STRETCH:
            groups[-1].append(n)
            end = max(end, found[n].last)
        else:
            groups.append([n])
            end = found[n].last
    return [sorted(sorted(group, key=lambda n: (-chances[n], n))[:MOST_ASKED]) for group in groups]


def questions(group: Sequence[Candidate], tokens: Sequence[Token], clip: str, alike: Alike) -> list[Question]:
    """A stretch's words as they were heard, and with each candidate's name in its place."""
    first, last = min(one.first for one in group), max(one.last for one in group)
    begin, end = tokens[first].word.start, tokens[last - 1].word.end
    spare = max(0.0, min(AROUND_S, (LONGEST_S - 2 * EDGE_S - (end - begin)) / 2))
    left, right = first, last
    while left > 0 and (tokens[left - 1].word.start >= begin - spare or tokens[left - 1].word is tokens[left].word):
        left -= 1
    while right < len(tokens) and (
        tokens[right].word.end <= end + spare or tokens[right].word is tokens[right - 1].word
    ):
        right += 1
    among = tuple(sorted({alike.spelt.get(one.name, " ".join(one.name)) for one in group}))
    asked: list[Question] = []
    for one in group:
        first, last = one.first, one.last
        # Whole words: a hyphenated one is several tokens.
        while first > left and tokens[first - 1].word is tokens[first].word:
            first -= 1
        while last < right and tokens[last].word is tokens[last - 1].word:
            last += 1
        before, own, after = (_words(tokens[a:b]) for a, b in ((left, first), (first, last), (last, right)))
        asked.append(
            Question(
                clip=clip,
                start=round(max(0.0, tokens[left].word.start - EDGE_S), 2),
                end=round(max(tokens[right - 1].word.end, tokens[left].word.start + 0.5) + EDGE_S, 2),
                heard=" ".join((*before, *own, *after)),
                instead=" ".join((*before, _dressed(one, own, alike), *after)),
                among=among,
            )
        )
    return asked


def compared(asked: Sequence[Candidate], ratios: Sequence[float | None]) -> list[tuple[float, float] | None]:
    """Each answer in nats, and by how much it beats the best of another term in the same place."""
    told: list[tuple[float, float] | None] = []
    for number, (one, ratio) in enumerate(zip(asked, ratios, strict=True)):
        if ratio is None:
            told.append(None)
            continue
        # Those asked come by stretch; rivals are of the same one.
        around = range(max(0, number - MOST_ASKED), min(len(asked), number + MOST_ASKED + 1))
        rivals = [
            other
            for n in around
            if (other := ratios[n]) is not None
            and asked[n].term.term != one.term.term
            and asked[n].first < one.last
            and one.first < asked[n].last
        ]
        told.append((ratio, ratio - max(rivals, default=-99.0)))
    return told


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


def _apart(rated: list[tuple[float, Candidate, float]]) -> list[Span]:
    kept: list[tuple[float, Candidate, float]] = []
    for chance, one, letters in sorted(rated, key=lambda r: (-r[0], r[1].first, r[1].last, r[1].name)):
        if all(one.last <= other.first or other.last <= one.first for _, other, _ in kept):
            kept.append((chance, one, letters))
    spans = [
        Span(
            one.first,
            one.last,
            one.term,
            How.NEAR_SPELLING if letters >= NEAR_LETTERS else How.SOUNDS_LIKE,
            round(chance, 3),
            one.plural,
        )
        for chance, one, letters in kept
    ]
    return sorted(spans, key=lambda span: span.first)
