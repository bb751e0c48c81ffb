"""Transcript files that stand in for recognition: SubRip, WebVTT, and text with ``[m:ss]`` stamps.

Where a file gives no times inside a caption, its words are spread over it by their lengths. Such words have
the probability 1: a person's file is taken at its word. Automatic captions (told by their rolling lines or
by times inside) were vouched for by nobody: their words have 0.5.
"""

from __future__ import annotations

import re
from pathlib import Path

from episode.errors import UnusableInput
from episode.models import Problem, Segment
from episode.speech.captions import write_vtt
from episode.speech.cues import read_cues
from episode.speech.paragraphs import read_paragraphs
from episode.speech.rolling import Timed, unrolled
from episode.speech.spread import segment

__all__ = ["read_subtitles", "read_transcript", "write_vtt"]

LARGEST_BYTES = 10_000_000
"""A day of speech is under 2 MB of captions; with a time at each word, as automatic ones have, under 8 MB."""
MOST_WORDS = 500_000
"""A day and a night of the fastest talk: 24 hours at 350 words a minute."""
MOST_CAPTIONS = 200_000
"""Twice one a second for a day and a night."""
BEYOND_S = 2.0
"""A caption may begin this much after the clip's end before it is left out (rounded durations)."""


def read_transcript(path: Path, clip: str, duration: float | None) -> tuple[Segment, ...]:
    """The segments of a transcript file, in order of time, every one with words.

    ``duration`` is the clip's, in seconds; captions are cut off there.

    Raises:
        UnusableInput: what is wrong, with file and line.
    """
    return read_subtitles(path, clip, duration)[0]


def read_subtitles(path: Path, clip: str, duration: float | None) -> tuple[tuple[Segment, ...], tuple[Problem, ...]]:
    """As ``read_transcript``, with what was wrong and did not matter enough to stop.

    Raises:
        UnusableInput: what is wrong, with file and line.
    """
    text, problems = _text(path)
    # Captions have some four marks of time for few words, and rolling ones say each word up to three times.
    _refuse_beyond(sum(1 for _ in re.finditer(r"[^\s<>]+", text)), 3 * MOST_WORDS, "words and times", path.name)
    timed: list[Timed]
    probability = 1.0
    if path.suffix.lower() == ".txt" and "-->" not in text:
        timed = read_paragraphs(text, path.name, duration)
    else:
        timed, automatic = unrolled(read_cues(text, path.name))
        probability = 0.5 if automatic else 1.0
    _refuse_beyond(len(timed), MOST_CAPTIONS, "captions", path.name)
    _refuse_beyond(sum(len(run.words) for one in timed for run in one.runs), MOST_WORDS, "words", path.name)
    kept = [one for one in timed if duration is None or one.start <= duration + BEYOND_S]
    if len(kept) < len(timed):
        first = timed[len(kept)]
        problems.append(
            Problem(
                where=f"{path.name}, line {first.line}",
                what=f"{len(timed) - len(kept)} captions begin after the end of {clip} ({duration:.0f} s) "
                "and are left out",
                remedy="Check that the transcript belongs to this clip.",
            )
        )
    if not kept:
        problems.append(Problem(where=path.name, what="holds no words", level="note"))
    found = (segment(one, clip, duration, probability) for one in kept)
    return tuple(one for one in found if one is not None), tuple(problems)


def _refuse_beyond(count: int, most: int, what: str, name: str) -> None:
    if count > most:
        raise UnusableInput(
            f"holds {count:,} {what}; {most:,} is the most",
            where=name,
            remedy="Check that it is the transcript of one clip, or split the clip and its transcript.",
        )


def _text(path: Path) -> tuple[str, list[Problem]]:
    """The file's text with plain line feeds, decoded by its byte order mark, else UTF-8, else Windows-1252."""
    problems = []
    try:
        size = path.stat().st_size
        raw = path.read_bytes() if size <= LARGEST_BYTES else b""
    except OSError as error:
        raise UnusableInput(f"cannot be read ({error.strerror})", where=path.name) from error
    if size > LARGEST_BYTES:
        remedy = f"A transcript may have {LARGEST_BYTES // 1_000_000} MB."
        raise UnusableInput(f"is too large for a transcript ({size // 1_000_000} MB)", where=path.name, remedy=remedy)
    try:
        text = raw.decode("utf-16" if raw.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("cp1252", errors="replace")
        what = "is not UTF-8 and was read as Windows-1252"
        problems.append(
            Problem(where=path.name, what=what, remedy="Save it as UTF-8 if letters look wrong.", level="note")
        )
    if "\0" in text:
        raise UnusableInput("is not a text file", where=path.name, remedy="Save the transcript as plain text.")
    text = re.sub(r"\r\n?", "\n", text)
    if not text.strip():
        remedy = "Fill it, or take it away so that the sound is heard instead."
        raise UnusableInput("is empty", where=path.name, remedy=remedy)
    return text, problems
