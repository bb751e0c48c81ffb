"""Writing a transcript as WebVTT, for people and players."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import NamedTuple

from episode.models import Transcript, Word
from episode.speech.respelt import respelt

LINE = 42
"""Characters a line of caption holds: the width of teletext subtitles, kept by most broadcasters' guides."""
LINES = 2
LONGEST_S = 7.0
"""A caption stays no longer than this; two full lines are read in it (common practice, no source)."""
SHORTEST_S = 0.01


def write_vtt(transcript: Transcript, starts: Mapping[str, float] | None = None) -> str:
    """The transcript as a WebVTT file (W3C, 2019).

    ``starts`` says where each clip begins on the programme's timeline, in seconds; without it, times are the
    clip's own, which only makes sense for one clip. Captions have at most two lines of 42 characters, are cut
    between words, and are numbered in order. Words in the trade's spelling stand in spans of the class
    ``corrected``, and a comment at the head lists them with the words heard.

    Raises:
        ValueError: several clips and no ``starts``, or a clip that ``starts`` does not know.
    """
    clips = {segment.clip for segment in transcript.segments}
    if starts is None:
        if len(clips) > 1:
            raise ValueError("several clips need the starts of each on the programme's timeline")
        starts = dict.fromkeys(clips, 0.0)
    unknown = sorted(clips - starts.keys())
    if unknown:
        raise ValueError(f"where on the timeline is {unknown[0]}?")
    cues: list[tuple[float, float, str]] = []
    for segment in transcript.segments:
        offset = starts[segment.clip]
        words = segment.words or (Word(start=segment.start, end=segment.end, word=segment.text, probability=1),)
        for lines in _captions([piece for word in words for piece in _narrow(word)]):
            first, last = lines[0][0], lines[-1][-1]
            start, end = first.start + offset, max(last.end, first.start + SHORTEST_S) + offset
            cues.append((start, end, "\n".join(map(_marked, lines))))
    cues.sort(key=lambda cue: cue[:2])
    blocks = [
        f"{number}\n{_time(start)} --> {_time(end)}\n{text}\n"
        for number, (start, end, text) in enumerate(cues, start=1)
    ]
    return "\n".join(["WEBVTT\n", *_comment(transcript, starts), *blocks])


def _comment(transcript: Transcript, starts: Mapping[str, float]) -> list[str]:
    """A NOTE block with every correction; it may hold neither an empty line nor an arrow."""
    found = sorted(respelt(transcript), key=lambda one: one.start + starts[one.clip])
    if not found:
        return []
    told = [f"{_time(one.start + starts[one.clip])} heard “{one.heard}”, written “{one.written}”" for one in found]
    return ["\n".join(["NOTE", "Corrected: the trade's spelling for the words heard.", *map(_harmless, told), ""])]


def _harmless(text: str) -> str:
    return " ".join(text.replace("-->", "->").split())


class _Piece(NamedTuple):
    """A word, or as much of it as a line holds; seconds in its clip."""

    start: float
    end: float
    word: str
    corrected: bool


def _narrow(word: Word) -> Iterator[_Piece]:
    """The word, or its pieces where it is wider than a line or has spaces in it."""
    parts = [part[at : at + LINE] for part in word.word.split() for at in range(0, len(part), LINE)]
    step = (word.end - word.start) / max(1, len(parts))
    for number, part in enumerate(parts):
        start = word.start + step * number
        yield _Piece(start, start + step, part, word.as_heard is not None)


def _captions(words: Iterable[_Piece]) -> Iterator[list[list[_Piece]]]:
    """Captions as their lines."""
    lines: list[list[_Piece]] = []
    whole = width = 0  # characters of the caption, and of its last line
    for word in words:
        long = len(word.word)
        fits = bool(lines) and width + 1 + long <= LINE
        if lines and ((not fits and len(lines) == LINES) or word.end - lines[0][0].start > LONGEST_S):
            yield lines
            lines, whole, fits = [], 0, False
        if fits:
            lines[-1].append(word)
        else:
            lines.append([word])
        width = width + 1 + long if fits else long
        whole += long + (1 if whole else 0)
        if whole > LINE and word.word[-1:] in ".?!":
            yield lines
            lines, whole = [], 0
    if lines:
        yield lines


def _marked(line: Sequence[_Piece]) -> str:
    """The words of a line, corrected ones in a class span; a span ends with its line."""
    runs = groupby(line, key=lambda word: word.corrected)
    told = ((marked, " ".join(_escaped(word.word) for word in run)) for marked, run in runs)
    return " ".join(f"<c.corrected>{text}</c>" if marked else text for marked, text in told)


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _time(at: float) -> str:
    thousandths = round(at * 1000)
    hours, rest = divmod(thousandths, 3_600_000)
    minutes, rest = divmod(rest, 60_000)
    return f"{hours:02}:{minutes:02}:{rest // 1000:02}.{rest % 1000:03}"
