"""The transcript with the trade's spelling where the recogniser wrote other words for a name."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from rapidfuzz.fuzz import ratio

from episode.lexicon.book import Lexicon
from episode.lexicon.names import name_key
from episode.lexicon.phones import numbers
from episode.lexicon.sounds import sounds
from episode.models import How, Mention, Segment, Transcript, Word
from episode.speech.sentences import sentences
from episode.spotting.distance import distances
from episode.spotting.names import plurals
from episode.spotting.stream import fold, name_tokens

REPLACED = frozenset({How.MISHEARING, How.NEAR_SPELLING, How.SOUNDS_LIKE})
LETTERS = 0.25
"""What wholly other letters cost beside the cost by sound, when the name that was meant is chosen."""
FARTHEST = 0.5
"""Beyond this cost none of a term's names sounds like the words, and its label is written."""
MOST_WORDS = 10
MOST_PIECES = 4
"""Pieces of a hyphenated word at the edge that may belong to something else ("half-cod bottle")."""

_PIECE = re.compile(r"[^\W_]+(?:['’][^\W_]+)*")
_OWNED = re.compile(r"['’][sS]$")


@dataclass(frozen=True, slots=True)
class _Place:
    """Words ``first`` to ``last`` (exclusive) of a clip, and the sentence that they stand in (word numbers)."""

    first: int
    last: int
    sentence: tuple[int, int]


@dataclass(frozen=True, slots=True)
class _Cut:
    """What was heard for a name, and what stands around it in the same words."""

    before: str
    core: str
    after: str
    trimmed: int


def respell(
    transcript: Transcript,
    mentions: Iterable[Mention],
    lexicon: Lexicon,
    *,
    least: float,
    refused: Collection[Mention] = (),
) -> Transcript:
    """The transcript with the trade's spelling for every mention that was told by its sound and is sure enough.

    Only mentions by a known mishearing, a near spelling or the sound count, with a score of ``least`` or more and
    not among ``refused``; the same words again in the same sentence are written alike. The name written is the one
    of the term's names that comes nearest to the words by sound, in the plural where they are, with their
    punctuation, and with a capital at a sentence's beginning.

    ``Word.as_heard`` of a replaced word keeps the recogniser's words. Where a name has more or fewer words than
    were heard, the first of them keeps all that was heard and the others an empty string, so that ``as_heard``
    where there is one, else ``word``, joined over the transcript are the recogniser's words, every one. Such words
    share the time by their lengths, and each has the least probability of those that it stands for.
    """
    wanted: dict[str, list[Mention]] = {}
    for mention in mentions:
        if mention.how in REPLACED and mention.score >= least and mention not in refused:
            wanted.setdefault(mention.clip, []).append(mention)
    if not wanted:
        return transcript
    names = _names(lexicon, {mention.term for clip in wanted.values() for mention in clip})
    placed: dict[str, list[tuple[int, Word]]] = {clip: [] for clip in wanted}
    for index, segment in enumerate(transcript.segments):
        if segment.clip in placed:
            placed[segment.clip].extend((index, word) for word in segment.words if word.word.strip())
    lengths = {
        clip: [len(sentence.words) for sentence in said]
        for clip, said in groupby(sentences(transcript), key=lambda s: s.clip)
    }
    changed: dict[int, list[Word]] = {}
    for clip, some in wanted.items():
        words = placed[clip]
        before, after = _by_segment(words), _by_segment(_rewritten(words, lengths.get(clip, []), some, names))
        changed.update({index: after.get(index, []) for index, own in before.items() if after.get(index) != own})
    segments = (_segment(s, changed[n]) if n in changed else s for n, s in enumerate(transcript.segments))
    return transcript.model_copy(update={"segments": tuple(s for s in segments if s.words or s.text)})


def _names(lexicon: Lexicon, terms: set[str]) -> dict[str, list[str]]:
    """The names of each term that may be written, its label first, without qualifiers in brackets."""
    found: dict[str, list[str]] = {name_key(term): [term] for term in sorted(terms)}
    for name, term, how in lexicon.names():
        if how in (How.WRITTEN, How.OTHER_NAME) and name_key(term.term) in found:
            found[name_key(term.term)].append(name)
    plain = {key: [" ".join(re.sub(r"\([^)]*\)", " ", name).split()) for name in names] for key, names in found.items()}
    return {key: [name for name in dict.fromkeys(names) if name_tokens(name)] for key, names in plain.items()}


def _by_segment(placed: Iterable[tuple[int, Word]]) -> dict[int, list[Word]]:
    found: dict[int, list[Word]] = {}
    for index, word in placed:
        found.setdefault(index, []).append(word)
    return found


def _rewritten(
    placed: Sequence[tuple[int, Word]], lengths: Sequence[int], mentions: Sequence[Mention], names: dict[str, list[str]]
) -> Iterator[tuple[int, Word]]:
    """A clip's words with the number of their segment, after every correction."""
    words = [word for _, word in placed]
    found: dict[int, tuple[_Place, Mention]] = {}
    taken: set[int] = set()
    for mention in sorted(mentions, key=lambda m: (-m.score, m.start, m.term)):
        for place in _places(words, lengths, mention):
            if taken.isdisjoint(range(place.first, place.last)):
                taken.update(range(place.first, place.last))
                found[place.first] = (place, mention)
    spelt = _spelt(words, found, names)
    at = 0
    while at < len(placed):
        if at in found:
            place = found[at][0]
            yield from _replaced(placed[place.first : place.last], spelt[at])
            at = place.last
        else:
            yield placed[at]
            at += 1


def _places(words: Sequence[Word], lengths: Sequence[int], mention: Mention) -> list[_Place]:
    """Where the mention's words stand, and where the same words stand again in its sentence."""
    begin = 0
    for length in lengths:
        until = begin + length
        if until > len(words):
            break
        for first in range(begin, until):
            if words[first].start != mention.start:
                continue
            for last in range(first + 1, min(first + MOST_WORDS, len(words)) + 1):
                own = words[first:last]
                if max(w.end for w in own) == mention.end and _plain(_text(own)) == _plain(mention.heard):
                    here = _Place(first, last, (begin, until))
                    return [here, *_again(words, here)]
        begin = until
    return []


def _again(words: Sequence[Word], here: _Place) -> Iterator[_Place]:
    own = [_bare(word.word) for word in words[here.first : here.last]]
    begin, until = here.sentence
    for first in range(begin, until - len(own) + 1):
        last = first + len(own)
        if first != here.first and [_bare(word.word) for word in words[first:last]] == own:
            yield _Place(first, last, here.sentence)


def _spelt(
    words: Sequence[Word], found: dict[int, tuple[_Place, Mention]], names: dict[str, list[str]]
) -> dict[int, list[str]]:
    """What is written at each place, by its first word: the words of the name with the marks around them."""
    tried: list[tuple[int, _Cut, str, int]] = []
    for first, (place, mention) in found.items():
        listed = names.get(name_key(mention.term), [])
        forms = [(name, 0) for name in listed]
        forms += [(" ".join(form), 1) for name in listed for form in plurals(tuple(name.split()))]
        tried += [(first, cut, form, n) for cut in _cuts(words[place.first : place.last]) for form, n in forms]
    said = sounds(token for _, cut, form, _ in tried for text in (cut.core, form) for token in name_tokens(text))

    def sound(text: str) -> list[int]:
        return numbers("".join(said[token] for token in name_tokens(text)))

    tried = [one for one in tried if sound(one[1].core) and sound(one[2])]
    away: list[float] = []
    if tried:
        away = distances([sound(one[1].core) for one in tried], [sound(one[2]) for one in tried])[0].tolist()
    best: dict[int, tuple[tuple[float, int, int, int], _Cut, str]] = {}
    for number, ((first, cut, form, plural), cost) in enumerate(zip(tried, away, strict=True)):
        unlike = 1.0 - ratio("".join(name_tokens(cut.core)), "".join(name_tokens(form))) / 100
        rank = (round(cost + LETTERS * unlike, 6), cut.trimmed, plural, number)
        if first not in best or rank < best[first][0]:
            best[first] = (rank, cut, form)
    written: dict[int, list[str]] = {}
    for first, (place, mention) in found.items():
        own = words[place.first : place.last]
        rank, cut, name = best.get(first, ((1.0, 0, 0, 0), _cuts(own)[0], mention.term))
        if rank[0] > FARTHEST:
            cut, name = _cuts(own)[0], names.get(name_key(mention.term), [mention.term])[0]
        written[first] = _dressed(name, cut, words, place)
    return written


def _cuts(own: Sequence[Word]) -> list[_Cut]:
    """The words heard without the marks around them, and without outer pieces of hyphenated words."""
    texts = [word.word.strip() for word in own]
    whole = " ".join(texts)
    pieces = [(m.start(), m.end()) for m in _PIECE.finditer(whole)]
    if not pieces:
        return [_Cut("", whole, "", 0)]
    leading = sum(1 for begin, _ in pieces if begin < len(texts[0]))
    trailing = sum(1 for _, end in pieces if end > len(whole) - len(texts[-1]))
    found = []
    for left in range(max(1, min(leading, MOST_PIECES))):
        for right in range(max(1, min(trailing, MOST_PIECES))):
            kept = pieces[left : len(pieces) - right]
            if kept:
                begin, end = kept[0][0], kept[-1][1]
                owned = _OWNED.search(whole[begin:end])
                end -= len(owned.group()) if owned else 0
                found.append(_Cut(whole[:begin], whole[begin:end], whole[end:], left + right))
    return found


def _dressed(name: str, cut: _Cut, words: Sequence[Word], place: _Place) -> list[str]:
    """The words to write: nothing said twice, capitals as the sentence has them, the marks around kept."""
    parts = _once(name.split(), cut, words, place)
    if _OWNED.search(parts[-1]) and _OWNED.match(cut.after[:2]):
        parts[-1] = parts[-1][:-2]
    begin, until = place.sentence
    sentence = _text(words[begin:until])
    if len(cut.core) > 1 and sentence.isupper():
        parts = [part.upper() for part in parts]
    elif place.first == begin and cut.core[:1].isupper() and not cut.trimmed:
        parts[0] = parts[0][:1].upper() + parts[0][1:]
    parts[0] = cut.before + parts[0]
    parts[-1] += cut.after
    return parts


def _once(parts: list[str], cut: _Cut, words: Sequence[Word], place: _Place) -> list[str]:
    """The name without words that stand beside it already ("bell armin" before "jar" is no "Bellarmine jar jar")."""
    begin, until = place.sentence
    for count in range(len(parts) - 1, 0, -1):
        following = words[place.last : min(until, place.last + count)]
        if not cut.after and [_bare(w.word) for w in following] == [_bare(p) for p in parts[-count:]]:
            return parts[:-count]
        preceding = words[max(begin, place.first - count) : place.first]
        if not cut.before and [_bare(w.word) for w in preceding] == [_bare(p) for p in parts[:count]]:
            return parts[count:]
    return parts


def _replaced(old: Sequence[tuple[int, Word]], new: Sequence[str]) -> Iterator[tuple[int, Word]]:
    """The words of one correction: alike ones at both ends, or all where they are as many, keep their own times."""
    left, right = 0, 0
    least = min(len(old), len(new))
    while left < least and _bare(old[left][1].word) == _bare(new[left]):
        left += 1
    while right < least - left and _bare(old[-1 - right][1].word) == _bare(new[-1 - right]):
        right += 1
    if len(old) != len(new) and left + right == least:
        # One side has nothing left: a neighbour goes with it.
        left, right = (left - 1, right) if left else (left, right - 1)
    inner = (left, left) if len(old) == len(new) else (left, len(old) - right)
    for (segment, word), text in zip(old[: inner[0]], new, strict=False):
        yield segment, _one(word, text)
    if inner[1] > inner[0]:
        segment = old[inner[0]][0]
        for word in _shared([word for _, word in old[inner[0] : inner[1]]], new[left : len(new) - right]):
            yield segment, word
    rest = len(old) - inner[1]
    if rest:
        for (segment, word), text in zip(old[inner[1] :], new[-rest:], strict=True):
            yield segment, _one(word, text)


def _one(word: Word, text: str) -> Word:
    heard = word.word.strip()
    return word if heard == text else word.model_copy(update={"word": text, "as_heard": heard})


def _shared(old: Sequence[Word], new: Sequence[str]) -> Iterator[Word]:
    start, end = min(w.start for w in old), max(w.end for w in old)
    probability = min(w.probability for w in old)
    heard = " ".join(w.word.strip() for w in old)
    total = sum(len(text) for text in new)
    done = 0
    for place, text in enumerate(new):
        begin = start + (end - start) * done / total
        done += len(text)
        until = end if place + 1 == len(new) else start + (end - start) * done / total
        times = {"start": round(min(begin, end), 3), "end": round(min(until, end), 3)}
        yield Word(word=text, probability=probability, as_heard="" if place else heard, **times)


def _segment(segment: Segment, words: Sequence[Word]) -> Segment:
    if not words:
        return segment.model_copy(update={"text": "", "words": ()})
    kept = words[0].as_heard is not None or words[0] == segment.words[0]
    return segment.model_copy(
        update={
            "start": min(segment.start, words[0].start) if kept else words[0].start,
            "end": max(segment.end, words[-1].end),
            "text": " ".join(word.word.strip() for word in words),
            "words": tuple(words),
        }
    )


def _text(words: Sequence[Word]) -> str:
    return " ".join(word.word.strip() for word in words)


def _plain(text: str) -> str:
    return text.strip(' ,.;:?!…"“”()[]—–-')


def _bare(text: str) -> str:
    """A word for comparison: folded, without marks."""
    return "".join(c for c in fold(text) if c.isalnum())
