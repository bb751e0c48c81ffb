"""Sentences out of words: the unit in which mentions, stances and claims are counted."""

from __future__ import annotations

import re

from episode.models import Seconds, Transcript, Value, Word

PAUSE_ENDS_S = 1.2
"""A silence this long ends a sentence whatever the punctuation says."""
CAPTION_PAUSE_S = 0.45
CAPTION_WORDS = 24
"""Captions without punctuation break at short pauses, and at this many words at the latest."""
LONGEST_WORDS = 60

_ENDS = re.compile(r"[.?!…][\"'”’)\]]*$")
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


def sentences(transcript: Transcript) -> list[Sentence]:
    """Every sentence of the transcript, in its order.

    Works on punctuated text and on lower-case captions alike: where a clip's text carries hardly any
    punctuation, pauses and lengths decide. Never joins words of two clips.
    """
    by_clip: dict[str, list[Word]] = {}
    for segment in transcript.segments:
        by_clip.setdefault(segment.clip, []).extend(segment.words)
    found: list[Sentence] = []
    for clip, words in by_clip.items():
        found.extend(_split(clip, words))
    return found


def _split(clip: str, words: list[Word]) -> list[Sentence]:
    stops = sum(1 for w in words if _ENDS.search(w.word.strip()))
    punctuated = stops * 60 >= len(words)
    pause, longest = (PAUSE_ENDS_S, LONGEST_WORDS) if punctuated else (CAPTION_PAUSE_S, CAPTION_WORDS)
    found: list[Sentence] = []
    run: list[Word] = []
    for index, word in enumerate(words):
        if not word.word.strip():
            continue
        run.append(word)
        following = words[index + 1] if index + 1 < len(words) else None
        gap = following.start - word.end if following else 0.0
        if following is None or gap >= pause or len(run) >= longest or (punctuated and _ends(word.word.strip())):
            found.append(_sentence(clip, run))
            run = []
    if run:
        found.append(_sentence(clip, run))
    return found


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
