"""The talk of each clip, sentence by sentence, with the cues by which finds come and go."""

from __future__ import annotations

import csv
import re
from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from episode.lexicon.resources import vocab_root
from episode.models import Mention, Transcript
from episode.speech.sentences import Sentence, sentences

BORDER_PAUSE_S = 2.5
"""A silence this long ends a stretch of talk: the speaker stoops, walks, or digs. Common practice, no source."""

_NOT_WORD = re.compile(r"[^a-z0-9']+")


@dataclass(frozen=True)
class Line:
    """A sentence and the sorts of cue that stand in it (``arrive``, ``tease``, ``another`` ...)."""

    start: float
    end: float
    text: str
    cues: frozenset[str]


class Talk:
    """Every clip's lines in order of time."""

    def __init__(self, transcript: Transcript) -> None:
        patterns = cue_patterns()
        self._lines: dict[str, list[Line]] = {}
        for sentence in sentences(transcript):
            self._lines.setdefault(sentence.clip, []).append(_line(sentence, patterns))
        for lines in self._lines.values():
            lines.sort(key=lambda line: (line.start, line.end))
        self._starts = {clip: [line.start for line in lines] for clip, lines in self._lines.items()}
        self._patterns = patterns

    def lines(self, clip: str) -> list[Line]:
        """The clip's lines; empty where nothing was heard."""
        return self._lines.get(clip, [])

    def at(self, clip: str, second: float) -> int | None:
        """Index of the line that is being said at a second, else of the last one before it, else ``None``."""
        index = bisect_right(self._starts.get(clip, []), second + 1e-6) - 1
        return index if index >= 0 else None

    def line_of(self, mention: Mention) -> Line:
        """The line a mention stands in; its own words where the transcript does not hold it."""
        index = self.at(mention.clip, mention.start)
        if index is not None:
            line = self.lines(mention.clip)[index]
            if mention.start < line.end + 0.05:
                return line
        text = mention.quote or mention.heard
        return Line(mention.start, max(mention.start, mention.end), text, cues_in(text, self._patterns))

    def between(self, clip: str, after: float, until: float) -> list[Line]:
        """Lines that begin after one second and not after another."""
        starts = self._starts.get(clip, [])
        return self.lines(clip)[bisect_right(starts, after + 1e-6) : bisect_right(starts, until + 1e-6)]

    def pause(self, clip: str, after: float, until: float) -> float:
        """The longest silence between two lines within a stretch, in seconds."""
        index = self.at(clip, after)
        longest, end = 0.0, max(after, self.lines(clip)[index].end) if index is not None else after
        for line in self.between(clip, after, until):
            longest = max(longest, line.start - end)
            end = max(end, line.end)
        return max(longest, until - end)

    def text(self, clip: str, start: float, end: float) -> str:
        """What is said in a stretch, whole sentences."""
        return " ".join(line.text for line in self.lines(clip) if line.end > start + 1e-6 and line.start < end - 1e-6)


@cache
def cue_patterns(room: str = "matching", table: str = "arrivals.csv") -> Mapping[str, re.Pattern[str]]:
    """One pattern for each sort of cue in a table below ``vocab/`` (columns ``cue`` and ``sort``)."""
    by_sort: dict[str, list[str]] = {}
    text = vocab_root().joinpath(room, table).read_text(encoding="utf-8-sig")
    for row in csv.DictReader(text.splitlines()):
        by_sort.setdefault(row["sort"].strip(), []).append(_plain(row["cue"]))
    return {sort: _pattern(cues) for sort, cues in by_sort.items()}


def cues_in(text: str, patterns: Mapping[str, re.Pattern[str]]) -> frozenset[str]:
    """The sorts of cue that stand in some words."""
    plain = _plain(text)
    return frozenset(sort for sort, pattern in patterns.items() if pattern.search(plain))


def _line(sentence: Sentence, patterns: Mapping[str, re.Pattern[str]]) -> Line:
    return Line(sentence.start, sentence.end, sentence.text, cues_in(sentence.text, patterns))


def _pattern(cues: Iterable[str]) -> re.Pattern[str]:
    longest_first = sorted({cue for cue in cues if cue}, key=lambda cue: (-len(cue), cue))
    return re.compile(r"(?<![a-z0-9'])(?:" + "|".join(map(re.escape, longest_first)) + r")(?![a-z0-9'])")


def _plain(text: str) -> str:
    return _NOT_WORD.sub(" ", text.lower().replace("’", "'")).strip()
