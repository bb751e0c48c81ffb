"""Mentions: which terms are named, where, on what evidence, and what the speaker does with them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import groupby

from episode.lexicon.book import Lexicon
from episode.models import Clip, LogEntry, Mention, Stance, Transcript
from episode.speech.sentences import Sentence, sentences
from episode.spotting.alike import Alike
from episode.spotting.everyday import everyday_use, forms_of, is_everyday, support
from episode.spotting.listening import Listener
from episode.spotting.names import Names, Span, longest
from episode.spotting.passage import FINDS, Passage, passage
from episode.spotting.referring import Told, referred
from episode.spotting.score import score
from episode.spotting.soundalike import sound_spans
from episode.spotting.spoken import Spoken
from episode.spotting.stance import stances
from episode.spotting.stream import Token, stream

ENOUGH_SUPPORT = 1.0
RECENT_S = 60.0
"""A short everyday name counts without other support this long after the same term was spotted."""


def spot(
    transcript: Transcript,
    lexicon: Lexicon,
    log: Sequence[LogEntry] = (),
    *,
    clips: Sequence[Clip] = (),
    expected: Sequence[str] = (),
    listen: Listener | None = None,
) -> tuple[Mention, ...]:
    """Every mention, at most one per sentence and term, ordered by clip as in the transcript, then by start.

    Args:
        transcript: segments with words; punctuated or not.
        lexicon: the terms and their names.
        log: the day's log; a term that it names is more readily believed, none is made from it.
        clips: the day's clips in order, for how far into the day a sentence is; without them the
            transcript's own times serve.
        expected: what the settings name; more readily believed, like what the log names.
        listen: asks the sound about names that the words only sound like; without it the words alone decide.
    """
    names, alike = _prepared(lexicon)
    logged = _logged(names, log, expected)
    by_clip = [(clip, list(group)) for clip, group in groupby(sentences(transcript), key=lambda s: s.clip)]
    begins, total = _day(by_clip, clips)
    found: list[Mention] = []
    streams = [stream(said) for _, said in by_clip]
    alike.learn(token.form for tokens in streams for token in tokens)
    for (clip, said), tokens in zip(by_clip, streams, strict=True):
        written = longest(names.find(tokens))
        by_sound = sound_spans(tokens, written, alike, clip=clip, logged=logged, listen=listen)
        spans = longest([*written, *by_sound]) if by_sound else written
        kept, laid = _in_sense(said, tokens, spans, logged)
        talk = [
            Spoken(laid[n], tuple(kept[n]), _share(begins.get(clip, 0.0) + s.start, total), s.start, s.end)
            for n, s in enumerate(said)
        ]
        for sentence, spoken, row in zip(said, talk, stances(talk), strict=True):
            found.extend(_mentions(sentence, spoken, row, tokens, logged))
    return tuple(found)


@lru_cache(maxsize=2)
def _prepared(lexicon: Lexicon) -> tuple[Names, Alike]:
    """The names of a lexicon, ready to be looked for; kept, since a day is spotted twice and tests many times."""
    names = Names(lexicon.names())
    return names, Alike(names)


def _logged(names: Names, log: Sequence[LogEntry], expected: Sequence[str] = ()) -> frozenset[str]:
    from episode.models import Word

    terms: set[str] = set()
    cells = [text for e in log for text in (e.object, e.maker, e.material, e.period, e.place)]
    for text in (*cells, *expected):
        words = tuple(Word(start=0, end=0, word=piece, probability=1) for piece in text.split()[:40])
        if words:
            line = Sentence(clip="", start=0, end=0, text=text, words=words, offsets=(0,) * len(words))
            terms.update(span.term.term for span in names.find(stream([line])))
    return frozenset(terms)


def _day(by_clip: Sequence[tuple[str, list[Sentence]]], clips: Sequence[Clip]) -> tuple[dict[str, float], float]:
    known = {clip.name: clip.duration for clip in clips}
    order = [clip.name for clip in clips] + [clip for clip, _ in by_clip if clip not in known]
    lengths = {clip: max(s.end for s in said) for clip, said in by_clip}
    begins: dict[str, float] = {}
    at = 0.0
    for clip in order:
        begins.setdefault(clip, at)
        at += max(known.get(clip, 0.0), lengths.get(clip, 0.0))
    return begins, at


def _share(at: float, total: float) -> float:
    return min(1.0, at / total) if total > 0 else 0.0


def _in_sense(
    said: Sequence[Sentence], tokens: Sequence[Token], spans: Sequence[Span], logged: frozenset[str]
) -> tuple[list[list[Span]], list[Passage]]:
    """The spans of each sentence that are used in the trade's sense, and the sentences laid out with them."""
    firsts = _firsts(tokens, len(said))
    rows: list[list[Span]] = [[] for _ in said]
    for span in spans:
        rows[tokens[span.first].sentence].append(span)
    rows = [_apart(row) for row in rows]

    def lay(number: int, row: Sequence[Span]) -> Passage:
        first, last = firsts[number], firsts[number + 1]
        return passage(tokens[first:last], row, first)

    laid = [lay(number, row) for number, row in enumerate(rows)]
    kept: list[list[Span]] = []
    recent: dict[str, float] = {}
    spoken = Told([])
    for number, row in enumerate(rows):
        around = laid[max(0, number - 1) : number] + laid[number + 1 : number + 2]
        good: list[Span] = []
        for index, span in enumerate(row):
            forms = forms_of(span, tokens)
            everyday = is_everyday(span, forms)
            if everyday_use(forms, lay(number, [span]), everyday=everyday) is not None:
                continue
            if everyday and span.term.term not in logged:
                backing = support(laid[number], around, row, index)
                if tokens[span.first].word.start - recent.get(span.term.term, -RECENT_S * 2) <= RECENT_S:
                    backing += 1.0
                if backing < ENOUGH_SUPPORT:
                    continue
            recent[span.term.term] = tokens[span.first].word.start
            good.append(span)
        if not any(span.term.kind in FINDS for span in good):
            again = referred(spoken, tokens, firsts[number], firsts[number + 1])
            if again is not None and all(s.last <= again.first or again.last <= s.first for s in good):
                good = sorted([*good, again], key=lambda s: s.first)
        spoken.note(good, tokens)
        kept.append(good)
    return kept, [laid[n] if row == rows[n] else lay(n, row) for n, row in enumerate(kept)]


def _firsts(tokens: Sequence[Token], count: int) -> list[int]:
    firsts = [len(tokens)] * (count + 1)
    for index in range(len(tokens) - 1, -1, -1):
        firsts[tokens[index].sentence] = index
    for number in range(count - 1, -1, -1):
        firsts[number] = min(firsts[number], firsts[number + 1])
    return firsts


def _apart(row: list[Span]) -> list[Span]:
    """Where a ware and an object share a word, the later keeps it: marks cannot overlap."""
    result: list[Span] = []
    for span in row:
        if result and result[-1].last > span.first:
            before = result.pop()
            if before.first < span.first:
                result.append(Span(before.first, span.first, before.term, before.how, before.likeness, before.plural))
        result.append(span)
    return result


def _mentions(
    sentence: Sentence, spoken: Spoken, row: Sequence[Stance], tokens: Sequence[Token], logged: frozenset[str]
) -> list[Mention]:
    first: dict[str, Mention] = {}
    for span, stance in zip(spoken.spans, row, strict=True):
        own = tokens[span.first : span.last]
        words = list(dict.fromkeys((w.start, w.end, w.word) for w in (token.word for token in own)))
        start = min(w[0] for w in words)
        mention = Mention(
            clip=sentence.clip,
            start=start,
            end=max(start, *(w[1] for w in words)),
            heard=" ".join(w[2].strip() for w in words).strip(' ,.;:?!…"“”()[]—–-'),
            term=span.term.term,
            kind=span.term.kind,
            how=span.how,
            score=score(span, own, everyday=is_everyday(span, forms_of(span, tokens)), logged=span.term.term in logged),
            stance=stance,
            quote=sentence.text,
        )
        known = first.get(span.term.term)
        # A guess confirmed in the same breath is found.
        if known is None or (known.stance is Stance.UNSURE and stance is Stance.FOUND):
            first[span.term.term] = mention
    return sorted(first.values(), key=lambda m: (m.start, m.end, m.term))
