"""Sentences out of words: the unit in which mentions, stances and claims are counted."""

from __future__ import annotations

import re
from collections.abc import Iterable

from episode.models import Seconds, Segment, Transcript, Value, Word
from episode.once import once_for_the_same

PAUSE_ENDS_S = 1.2
"""A silence this long ends a sentence whatever the punctuation says."""
CAPTION_PAUSE_S = 0.45
CAPTION_WORDS = 24
"""Captions without punctuation break at short pauses, and at this many words at the latest."""
LONGEST_WORDS = 60
UNSTOPPED_WORDS = 10
"""A run this long in which the recogniser forgot its full stops breaks like a caption."""

_ENDS = re.compile(r"[.?!…][\"'”’)\]]*$")
_OPENERS = frozenset(
    "and so but the it it's that that's this there there's then we we've he she they you now here here's could is what "
    "if well oh right my a".split()
)
"""Words that carry a capital at the head of a segment only because a sentence begins there."""
_ABBREVIATION = re.compile(r"^(?:c|ca|st|mr|mrs|ms|dr|no|nos|co|vol|approx|e\.g|i\.e|[a-z])\.$", re.IGNORECASE)


class Sentence(Value):
    """Consecutive words of one clip. ``text`` is the words joined by single spaces.

    ``offsets[i]`` is where word ``i`` begins in ``text``.
    """

    clip: str
    start: Seconds
    end: Seconds
    text: str
    words: tuple[Word, ...]
    offsets: tuple[int, ...]

    def words_at(self, at: int, until: int) -> tuple[Word, ...]:
        """The words that overlap characters ``at`` to ``until`` of ``text`` (never empty for a valid range)."""
        ends = [*self.offsets[1:], len(self.text) + 1]
        found = tuple(w for w, o, e in zip(self.words, self.offsets, ends, strict=True) if o < until and e - 1 > at)
        return found or self.words[:1]


@once_for_the_same
def sentences(transcript: Transcript) -> tuple[Sentence, ...]:
    """Every sentence of the transcript, in its order. Every room asks for those of the day, so they are made once."""
    return tuple(sentences_of(transcript.segments))


def sentences_of(segments: Iterable[Segment]) -> list[Sentence]:
    """Every sentence of some segments, in their order.

    Works on punctuated text and on lower-case captions alike: where a clip's text carries hardly any
    punctuation, pauses and lengths decide. Never joins words of two clips.
    """
    by_clip: dict[str, list[tuple[Word, bool]]] = {}
    for segment in segments:
        words = by_clip.setdefault(segment.clip, [])
        words.extend((word, index == 0) for index, word in enumerate(segment.words) if word.word.strip())
    found: list[Sentence] = []
    for clip, words in by_clip.items():
        found.extend(_split(clip, words))
    return found


def _split(clip: str, words: list[tuple[Word, bool]]) -> list[Sentence]:
    """``words`` with whether each one heads a segment."""
    stops = sum(1 for word, _ in words if _ENDS.search(word.word.strip()))
    punctuated = stops * 60 >= len(words)
    found: list[Sentence] = []
    run: list[Word] = []
    for index, (word, _) in enumerate(words):
        run.append(word)
        following, heads = words[index + 1] if index + 1 < len(words) else (None, False)
        if following is None or _breaks(run, following, heads=heads, punctuated=punctuated):
            found.append(_sentence(clip, run))
            run = []
    return found


def _breaks(run: list[Word], following: Word, *, heads: bool, punctuated: bool) -> bool:
    gap = following.start - run[-1].end
    if not punctuated:
        return gap >= CAPTION_PAUSE_S or len(run) >= CAPTION_WORDS
    if gap >= PAUSE_ENDS_S or len(run) >= LONGEST_WORDS or _ends(run[-1].word.strip()):
        return True
    head = following.word.strip()
    if heads and head[:1].isupper() and head.lower() in _OPENERS and not run[-1].word.strip().endswith(","):
        return True
    return len(run) >= UNSTOPPED_WORDS and gap >= CAPTION_PAUSE_S and not run[-1].word.strip().endswith(",")


def _ends(word: str) -> bool:
    return bool(_ENDS.search(word)) and not _ABBREVIATION.match(word)


def _sentence(clip: str, run: list[Word]) -> Sentence:
    text, offsets = "", []
    for word in run:
        if text:
            text += " "
        offsets.append(len(text))
        text += word.word.strip()
    start = min(w.start for w in run)
    end = max(w.end for w in run)
    return Sentence(clip=clip, start=start, end=end, text=text, words=tuple(run), offsets=tuple(offsets))
