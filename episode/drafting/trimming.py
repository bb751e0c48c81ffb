"""Where to cut a stretch of a clip: between words, at the ends of sentences, with long silences taken out.

Silences are measured between the words of the transcript.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence

from episode.models import Seconds, Word
from episode.speech.sentences import Sentence

SILENCE_S = 2.0
"""A longer silence inside a stretch is cut out (common practice, no source)."""
BREATH_S = 0.5
"""What stays of such a silence on either side (common practice, no source)."""

Span = tuple[Seconds, Seconds]


class Speech:
    """The words of one clip, for asking where they begin, end and leave off."""

    def __init__(self, sentences: Iterable[Sentence]) -> None:
        self.sentences = sorted(sentences, key=lambda s: (s.start, s.end))
        self._runs = _runs([word for sentence in self.sentences for word in sentence.words])
        self._starts = [start for start, _ in self._runs]

    def whole(self, start: Seconds, end: Seconds) -> Span:
        """``start`` to ``end`` made longer to the ends of the sentences that they fall in."""
        for sentence in self.sentences:
            if sentence.start < start < sentence.end:
                start = sentence.start
            if sentence.start < end < sentence.end:
                end = sentence.end
        return start, end

    def led_up_to(self, start: Seconds, floor: Seconds, longest: Seconds) -> Seconds:
        """Where talk that runs on to ``start`` begins: sentences without a silence between, back to ``floor``."""
        begin = start
        for sentence in reversed(self.sentences):
            if sentence.start >= begin:
                continue
            near = begin - sentence.end <= SILENCE_S
            if not near or sentence.start < floor or start - sentence.start > longest:
                break
            begin = sentence.start
        return begin

    def pieces(self, start: Seconds, end: Seconds, keep: Seconds | None) -> list[Span]:
        """``start`` to ``end`` without its long silences; the second ``keep`` stays, whatever is said there.

        A stretch in which nothing is said is given back whole: it was picked for what it shows.
        """
        kept = [(max(start, a), min(end, b)) for a, b in self._runs if a < end and b > start]
        if not kept:
            return [(start, end)]
        if keep is not None and start <= keep <= end:
            kept = sorted([*kept, (max(start, keep - BREATH_S), min(end, keep + BREATH_S))])
        joined: list[Span] = []
        for a, b in kept:
            if joined and a - joined[-1][1] <= SILENCE_S:
                joined[-1] = (joined[-1][0], max(joined[-1][1], b))
            else:
                joined.append((a, b))
        return joined

    def handled(self, span: Span, before: Seconds, after: Seconds, longest: Seconds) -> Span:
        """``span`` with up to ``before`` and ``after`` seconds of the silence around it, inside 0 to ``longest``."""
        start, end = max(0.0, span[0] - before), min(longest, span[1] + after)
        last = bisect_left(self._starts, span[0]) - 1
        if last >= 0:
            start = max(start, min(self._runs[last][1], span[0]))
        following = bisect_left(self._starts, span[1])
        if following < len(self._runs):
            end = min(end, self._runs[following][0])
        if following and span[1] < self._runs[following - 1][1]:
            end = span[1]  # talk goes on without a pause
        return start, end


def _runs(words: Sequence[Word]) -> list[Span]:
    """Words that touch or overlap, as one."""
    runs: list[Span] = []
    for start, end in sorted((word.start, max(word.start, word.end)) for word in words):
        if runs and start <= runs[-1][1]:
            runs[-1] = (runs[-1][0], max(runs[-1][1], end))
        else:
            runs.append((start, end))
    return runs
