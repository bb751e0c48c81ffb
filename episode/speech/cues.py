"""Cues of SubRip and WebVTT files, with the lines they stand on.

Both formats share the shape that matters here: a line with two times and an arrow, lines of text, an empty
line. WebVTT after the W3C candidate recommendation of 4 April 2019 (header, NOTE, STYLE and REGION blocks,
cue settings, voice and class tags, timestamp tags, character references); SubRip as commonly written
(comma before the milliseconds, HTML-like tags, curly override tags). Read here rather than with a library
because messages need line numbers and the times inside automatic captions are worth keeping.
"""

from __future__ import annotations

import html
import re
from typing import NamedTuple

from episode.errors import UnusableInput

LONGEST_S = 7 * 24 * 3600.0
"""No clip is a week long: a later time is a mistake."""

_TIME = r"(?:(\d{1,4}):)?(\d{1,3}):(\d{1,2})(?:[.,](\d{1,3}))?"
_CUE = re.compile(rf"^\s*({_TIME})\s*-->\s*({_TIME})(?:\s.*)?$")
_INLINE = re.compile(rf"<({_TIME})>")
_TAG = re.compile(r"</?[A-Za-z][^<>\n]{0,500}>|</?>|\{\\[^{}\n]{0,200}\}")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\u200b-\u200f\u2028-\u202e\u2060\ufeff]")
_NOTE_ALONE = re.compile(r"^[\[(♪][^\])]{1,60}[\])♪]$")


class Run(NamedTuple):
    """Words that begin at ``start``, where the file says so; else ``None``."""

    start: float | None
    words: tuple[str, ...]


class Cue(NamedTuple):
    """One caption: seconds from the clip's start, the line its times stand on, its lines of text as runs."""

    start: float
    end: float
    line: int
    rows: tuple[tuple[Run, ...], ...]


def read_cues(text: str, name: str) -> list[Cue]:
    """Every cue in the order of the file. Cues without words are left out.

    Raises:
        UnusableInput: a time line that cannot be read, an end before its start, or no cue at all; ``where``
            names the line.
    """
    lines = text.split("\n")
    vtt = lines[0].startswith("WEBVTT")
    cues: list[Cue] = []
    seen = False
    numbered = not vtt and _is_numbered(lines)
    at = _skip_block(lines, 0) if vtt else 0
    while at < len(lines):
        line = lines[at]
        if "-->" in line:
            seen = True
            start, end = _times(line, name, at + 1)
            until = _text_end(lines, at + 1, vtt=vtt)
            last = until - 1 if numbered and until < len(lines) and lines[until - 1].strip().isdigit() else until
            rows = _rows(lines[at + 1 : last], vtt=vtt)
            if rows:
                cues.append(Cue(start, end, at + 1, rows))
            at = until
        elif vtt and re.match(r"(?:NOTE|STYLE|REGION)(?:\s|$)", line):
            at = _skip_block(lines, at)
        else:
            at += 1
    if not seen and not vtt:
        raise UnusableInput(
            "holds no captions",
            where=name,
            remedy="A caption begins with a line such as 00:01:02,500 --> 00:01:05,000.",
        )
    return cues


def seconds(text: str) -> float | None:
    """A time of the form ``[h:]mm:ss[.fff]`` in seconds; nothing if it is no such time."""
    found = re.fullmatch(_TIME, text)
    if not found:
        return None
    hours, minutes, whole, fraction = found.groups()
    if int(whole) > 59 or (hours is not None and int(minutes) > 59):
        return None
    total = int(hours or 0) * 3600 + int(minutes) * 60 + int(whole)
    return round(total + float(f"0.{fraction or 0}"), 3)


def _skip_block(lines: list[str], at: int) -> int:
    while at < len(lines) and lines[at].strip() and "-->" not in lines[at]:
        at += 1
    return at


def _is_numbered(lines: list[str]) -> bool:
    first = next((at for at, line in enumerate(lines) if "-->" in line), 0)
    return first > 0 and lines[first - 1].strip().isdigit()


def _text_end(lines: list[str], at: int, *, vtt: bool) -> int:
    """Where a cue's text ends: WebVTT at an empty line; SubRip, whose writers leave lines empty, at the next cue."""
    until = at
    while until < len(lines) and "-->" not in lines[until] and not (vtt and lines[until] == ""):
        until += 1
    return until


def _times(line: str, name: str, number: int) -> tuple[float, float]:
    where = f"{name}, line {number}"
    remedy = "Times are written 00:01:02,500 --> 00:01:05,000 (or with a full stop before the milliseconds)."
    found = _CUE.match(line)
    start = seconds(found.group(1)) if found else None
    end = seconds(found.group(6)) if found else None
    if start is None or end is None:
        raise UnusableInput(
            f"cannot be read as the times of a caption: {line.strip()[:80]!r}", where=where, remedy=remedy
        )
    if end < start:
        raise UnusableInput(f"a caption ends before it begins: {line.strip()[:80]!r}", where=where, remedy=remedy)
    if end > LONGEST_S:
        raise UnusableInput(f"no clip is that long: {line.strip()[:80]!r}", where=where, remedy=remedy)
    return start, end


def _rows(lines: list[str], *, vtt: bool) -> tuple[tuple[Run, ...], ...]:
    rows = []
    for line in lines:
        runs = _runs(line, vtt=vtt)
        said = " ".join(word for run in runs for word in run.words)
        if said and not _NOTE_ALONE.match(said):
            rows.append(runs)
    return tuple(rows)


def _runs(line: str, *, vtt: bool) -> tuple[Run, ...]:
    pieces: list[tuple[float | None, str]] = []
    at, start = 0, None
    for found in _INLINE.finditer(line):
        pieces.append((start, line[at : found.start()]))
        at, start = found.end(), seconds(found.group(1))
    pieces.append((start, line[at:]))
    runs = (Run(begin, tuple(_plain(text, vtt=vtt).split())) for begin, text in pieces)
    return tuple(run for run in runs if run.words)


def _plain(text: str, *, vtt: bool) -> str:
    bare = _TAG.sub("", text)
    if vtt or "&" in bare:
        bare = html.unescape(bare)
    return _CONTROL.sub("", bare)
