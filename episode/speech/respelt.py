"""Which words of a transcript are the trade's spelling in place of the recogniser's."""

from __future__ import annotations

from typing import NamedTuple

from episode.models import Transcript

_MARKS = ' ,.;:?!…"“”()[]—–-'


class Respelt(NamedTuple):
    """Consecutive words that were replaced: where (seconds in the clip), as heard, and as they stand now."""

    clip: str
    start: float
    end: float
    heard: str
    written: str


def respelt(transcript: Transcript) -> tuple[Respelt, ...]:
    """Every correction in the transcript, in its order; neighbouring corrected words are one."""
    found: list[Respelt] = []
    for segment in transcript.segments:
        last = -2
        for place, word in enumerate(segment.words):
            if word.as_heard is None:
                continue
            one = Respelt(segment.clip, word.start, word.end, word.as_heard, word.word.strip())
            if place == last + 1:
                before = found.pop()
                heard = f"{before.heard} {one.heard}".strip()
                one = Respelt(segment.clip, before.start, word.end, heard, f"{before.written} {one.written}")
            found.append(one)
            last = place
    return tuple(r._replace(heard=r.heard.strip(_MARKS), written=r.written.strip(_MARKS)) for r in found)
