"""Writing a transcript as WebVTT, for people and players."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby

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
        for run in _captions([piece for word in words for piece in _narrow(word)]):
            start, end = run[0].start + offset, max(run[-1].end, run[0].start + SHORTEST_S) + offset
            cues.append((start, end, "\n".join(_lines(run))))
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


def _narrow(word: Word) -> Iterator[Word]:
    """The word, or its pieces where it is wider than a line or has spaces in it."""
    parts = [part[at : at + LINE] for part in word.word.split() for at in range(0, len(part), LINE)]
    step = (word.end - word.start) / max(1, len(parts))
    for number, part in enumerate(parts):
        start = word.start + step * number
        yield word.model_copy(update={"word": part, "start": start, "end": start + step})


def _captions(words: Iterable[Word]) -> Iterator[list[Word]]:
    run: list[Word] = []
    for word in words:
        longer = [*run, word]
        if run and (len(_lines(longer)) > LINES or word.end - run[0].start > LONGEST_S):
            yield run
            run = [word]
        else:
            run = longer
        if len(" ".join(w.word for w in run)) > LINE and run[-1].word[-1:] in ".?!":
            yield run
            run = []
    if run:
        yield run


def _lines(words: Sequence[Word]) -> list[str]:
    lines: list[list[Word]] = []
    width = 0
    for word in words:
        if lines and width + 1 + len(word.word) <= LINE:
            lines[-1].append(word)
            width += 1 + len(word.word)
        else:
            lines.append([word])
            width = len(word.word)
    return [_marked(line) for line in lines]


def _marked(line: Sequence[Word]) -> str:
    """The words of a line, corrected ones in a class span; a span ends with its line."""
    runs = groupby(line, key=lambda word: word.as_heard is not None)
    told = ((marked, " ".join(_escaped(word.word) for word in run)) for marked, run in runs)
    return " ".join(f"<c.corrected>{text}</c>" if marked else text for marked, text in told)


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _time(at: float) -> str:
    thousandths = round(at * 1000)
    hours, rest = divmod(thousandths, 3_600_000)
    minutes, rest = divmod(rest, 60_000)
    return f"{hours:02}:{minutes:02}:{rest // 1000:02}.{rest % 1000:03}"
