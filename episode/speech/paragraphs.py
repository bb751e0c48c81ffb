"""Text whose paragraphs begin with ``[m:ss]`` or ``[h:mm:ss]``."""

from __future__ import annotations

import re
from bisect import bisect_right

from episode.errors import UnusableInput
from episode.speech.cues import LONGEST_S, Run, seconds
from episode.speech.rolling import Timed

SLOWEST = 6.0
"""Characters a second below which nobody speaks for long: a pause follows a short paragraph (common practice)."""

_STAMP = re.compile(r"^\s*\[([^\[\]\n]{1,20})\]\s*(.*)$")
_LIKE_TIME = re.compile(r"^\s*-?\d{1,6}[:.]\d{1,3}(?:[:.,]\d{1,3})*\s*$")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\u200b-\u200f\u2028-\u202e\u2060\ufeff]")


def read_paragraphs(text: str, name: str, duration: float | None) -> list[Timed]:
    """Every paragraph, in order of time. A paragraph lasts to the next stamp, or as long as slow speech would.

    Raises:
        UnusableInput: words before the first stamp, a stamp that is no time, or no stamp; with the line.
    """
    found: list[tuple[float, int, list[str]]] = []
    for number, line in enumerate(text.split("\n"), start=1):
        stamp = _STAMP.match(line)
        if stamp and _LIKE_TIME.match(stamp.group(1)):
            found.append((_stamp(stamp.group(1), f"{name}, line {number}"), number, _words(stamp.group(2))))
        elif found:
            found[-1][2].extend(_words(line))
        elif line.strip():
            raise UnusableInput(
                "words stand before the first time stamp",
                where=f"{name}, line {number}",
                remedy="Begin each paragraph with its time in the clip, such as [1:05] or [1:02:03].",
            )
    if not found:
        raise UnusableInput(
            "holds no time stamp",
            where=name,
            remedy="Begin each paragraph with its time in the clip, such as [1:05] or [1:02:03].",
        )
    ordered = sorted(found, key=lambda one: (one[0], one[1]))
    starts = [start for start, _, _ in ordered]
    paragraphs = []
    for start, at, words in ordered:
        later = bisect_right(starts, start)
        following = starts[later] if later < len(starts) else duration
        need = sum(len(word) + 1 for word in words) / SLOWEST
        end = start + need if following is None else min(start + need, max(following, start))
        if words:
            paragraphs.append(Timed(start, end, at, (Run(None, tuple(words)),)))
    return paragraphs


def _stamp(text: str, where: str) -> float:
    at = seconds(text.strip())
    if at is None or at > LONGEST_S:
        raise UnusableInput(
            f"[{text}] is not a time in a clip", where=where, remedy="Write [m:ss] or [h:mm:ss], seconds below 60."
        )
    return at


def _words(text: str) -> list[str]:
    return _CONTROL.sub("", text).split()
