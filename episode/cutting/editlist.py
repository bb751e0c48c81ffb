"""Edit lists as editors really write them, put into the one form that the reader takes."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from episode.models import Clip

RATES = (24, 25, 30, 50, 60)
_LONGEST_LINE = 400

_EVENT = re.compile(
    r"^(\d+[ \t]+)(\S.*?)([ \t]+\S+[ \t]+(?:[CDK]|W\d+|K[BO]?)[ \t]+(?:\d+[ \t]+)?(?:\d\d[:;]\d\d[:;]\d\d[:;.]\d\d[ \t]*){4})$"
)
"""A line of CMX3600: number, reel, channels, kind of cut (and its length), source in and out, record in and out."""
_TIMECODE = re.compile(r"\b(\d\d)[:;](\d\d)[:;](\d\d)([:;.])(\d\d)\b")
_DROPPING = re.compile(r"^[ \t]*FCM:[ \t]*(NON[- ]?)?DROP", re.I)


def plain_list(text: str) -> str:
    """``text`` with reels in one word each and timecodes as ``hh:mm:ss:ff``, drop frame as ``hh:mm:ss;ff``.

    Some writers keep the spaces of a file name, which are the columns' own separators; some put ``;`` everywhere,
    and some say drop frame only in the line ``FCM: DROP FRAME``, which holds until the next one.
    """
    lines, dropping = [], False
    for given in text.splitlines():
        line = given
        said = _DROPPING.match(line[:_LONGEST_LINE])
        if said:
            dropping = said[1] is None
        if line[:1].isdigit() and len(line) <= _LONGEST_LINE:
            event = _EVENT.match(line.rstrip())
            if event:
                line = event[1] + re.sub(r"\s+", "_", event[2]) + event[3]
            line = _written_as(line, dropping)
        lines.append(line)
    return "\n".join(lines) + "\n"


def _written_as(line: str, dropping: bool) -> str:
    return _TIMECODE.sub(lambda m: _written(m, dropping), line)


def _written(time: re.Match[str], dropping: bool) -> str:
    hour, minute, second, mark, frame = time.groups()
    dropped = dropping or mark in ";."
    # Timecode that drop frame leaves out (the first two frames of most minutes) cannot have been meant as such.
    if dropped and second == "00" and int(minute) % 10 and int(frame) < 2:
        dropped = False
    return f"{hour}:{minute}:{second}{';' if dropped else ':'}{frame}"


def rate_of(text: str, clips: Sequence[Clip]) -> float:
    """Frames a second of a list, which does not say: drop frame, the highest frame number, and the clips decide.

    A list that counts 24, 30 or 60 frames is taken at 1000/1001 of that where the clips are (SMPTE ST 12-1; from
    memory): over twenty minutes the two are more than a second apart.
    """
    times = [m for line in text.splitlines() if line[:1].isdigit() for m in _TIMECODE.finditer(line[:_LONGEST_LINE])]
    highest = max((int(m[5]) for m in times), default=0)
    if any(m[4] == ";" for m in times):
        return 60000 / 1001 if highest >= 30 else 30000 / 1001
    known = Counter[float]()
    for clip in clips:
        if clip.fps:
            known[round(clip.fps, 3)] += round(clip.duration) + 1
    for fps, _ in known.most_common():
        nominal = next((r for r in RATES if abs(fps - r) < 0.1), None)
        if nominal is not None and highest < nominal and (nominal <= 30 or highest >= 30):
            return nominal * 1000 / 1001 if fps < nominal - 0.01 else float(nominal)
    return next((float(r) for r in RATES if highest < r and (r != 24 or highest == 23)), 25.0)
