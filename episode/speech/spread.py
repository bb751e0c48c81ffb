"""Times for the words of a caption that gives only its own."""

from __future__ import annotations

from collections.abc import Sequence

from episode.models import Segment, Word
from episode.speech.cues import Run
from episode.speech.rolling import Timed

LONGEST_WORD_S = 2.0
"""A word before a silence is not drawn out to the next one (common practice, no source)."""


def segment(timed: Timed, clip: str, duration: float | None, probability: float) -> Segment | None:
    """A segment whose words lie evenly in the caption, each as long as its letters are many.

    Times given inside the caption are kept where they rise and lie within it. Nothing if there are no words.
    """
    longest = duration if duration is not None else float("inf")
    start, end = min(timed.start, longest), min(max(timed.end, timed.start), longest)
    words = [word for run in _placed(timed.runs, start, end) for word in _spread(*run, probability=probability)]
    if not words:
        return None
    text = " ".join(word.word for word in words)
    return Segment(
        clip=clip, start=words[0].start, end=max(words[-1].end, words[0].start), text=text, words=tuple(words)
    )


def _placed(runs: Sequence[Run], start: float, end: float) -> list[tuple[list[str], float, float]]:
    """Runs with both ends; runs whose time is missing or out of order join the run before."""
    joined: list[tuple[float, list[str]]] = []
    for run in runs:
        if joined and (run.start is None or not joined[-1][0] < run.start <= end):
            joined[-1][1].extend(run.words)
        else:
            within = run.start is not None and start <= run.start <= end
            joined.append((run.start if within and run.start is not None else start, list(run.words)))
    ends = [begin for begin, _ in joined[1:]] + [end]
    inside = len(joined) > 1
    return [
        (words, begin, min(stop, begin + LONGEST_WORD_S * len(words)) if inside else stop)
        for (begin, words), stop in zip(joined, ends, strict=True)
    ]


def _spread(words: Sequence[str], start: float, end: float, *, probability: float) -> list[Word]:
    weights = [len(word) + 1 for word in words]
    total = sum(weights)
    found, done = [], 0
    for word, weight in zip(words, weights, strict=True):
        begin = start + (end - start) * done / total
        done += weight
        until = start + (end - start) * done / total
        found.append(
            Word(start=min(round(begin, 2), end), end=min(round(until, 2), end), word=word, probability=probability)
        )
    return found
