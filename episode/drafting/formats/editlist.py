"""Edit decision lists (CMX 3600), for editors that read nothing newer.

A list has one frame rate: that of most of the footage. Times in clips of another rate are brought to it frame by
frame; 29.97 and 59.94 are counted as drop-frame timecode and the list says so. Source timecode counts from the
timecode that the clip carries, else from its first frame as 00:00:00:00; record timecode from 00:00:00:00. A reel has
eight characters: the last letters and digits of the clip's name and, where those are not unique, a number. Comments
carry the select's name, the whole name of the clip, and markers as ``LOC`` at record time (columns, comments and the
length of a reel: from memory; the tests read the lists back with OpenTimelineIO's adapter).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from episode.drafting.formats.editing import zero
from episode.drafting.outgoing import one_line
from episode.drafting.rates import common_rate, rate_of
from episode.models import Clip, Seconds

MOST_EVENTS = 999
"""Event numbers have three digits."""
LONGEST_TITLE = 70
_REEL_LENGTH = 8
_LONGEST_COMMENT = 200


@dataclass(frozen=True)
class Mark:
    """A remark at a second of the clip; ``colour`` is a word."""

    at: Seconds
    text: str
    colour: str = "RED"


@dataclass(frozen=True)
class Event:
    """``start`` to ``end`` seconds of ``clip``, named, with remarks."""

    clip: Clip
    start: Seconds
    end: Seconds
    name: str
    marks: tuple[Mark, ...] = ()


def edit_list(title: str, events: Sequence[Event], clips: Sequence[Clip]) -> str:
    """The list's text, CR LF at line ends as readers expect; events beyond the 999th are left out, and it says so."""
    rate = common_rate(clips)
    reels = reel_names([clip.name for clip in clips])
    dropped = _drops(rate)
    lines = [f"TITLE: {ascii_line(title)[:LONGEST_TITLE]}", f"FCM: {'' if dropped else 'NON-'}DROP FRAME"]
    record = 0
    for number, event in enumerate(events[:MOST_EVENTS], start=1):
        begin = _zero(event.clip, rate)
        first = round(event.start * rate)
        frames = max(1, round(event.end * rate) - first)
        times = (begin + first, begin + first + frames, record, record + frames)
        channel = "V" if event.clip.has_video or not event.clip.audio_tracks else "A"
        kept = " ".join(_timecode(time, rate) for time in times)
        lines += ["", f"{number:03d}  {reels[event.clip.name]:<8} {channel:<5} C        {kept}"]
        lines.append(f"* FROM CLIP NAME:  {_comment(event.name)}")
        lines.append(f"* SOURCE FILE: {one_line(event.clip.name)}")
        for mark in event.marks:
            at = record + min(max(0, round(mark.at * rate) - first), frames - 1)
            lines.append(f"* LOC: {_timecode(at, rate)} {mark.colour:<7} {_comment(mark.text)}")
        record += frames
    if len(events) > MOST_EVENTS:
        lines += ["", f"* {len(events) - MOST_EVENTS} MORE DO NOT FIT IN AN EDIT LIST; TAKE THE OTIO FILE"]
    return "\r\n".join(lines) + "\r\n"


def reel_names(names: Sequence[str]) -> dict[str, str]:
    """A reel for each clip name: up to eight letters and digits, in capitals, no two alike."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for name in names:
        stem = re.sub(r"[^A-Z0-9]", "", ascii_line(PurePosixPath(name).stem).upper()) or "CLIP"
        reel, number = stem[-_REEL_LENGTH:], 1
        while reel in taken:
            number += 1
            reel = stem[-_REEL_LENGTH:][: _REEL_LENGTH - len(str(number))] + str(number)
        found[name] = reel
        taken.add(reel)
    return found


def ascii_line(text: str) -> str:
    """Letters without accents; what has no plain form becomes a space, and a semicolon a comma."""
    plain = unicodedata.normalize("NFKD", one_line(text)).encode("ascii", "ignore").decode("ascii")
    return one_line(plain.replace(";", ","))


def _comment(text: str) -> str:
    return ascii_line(text)[:_LONGEST_COMMENT] or "unnamed"


def _zero(clip: Clip, rate: float) -> int:
    """The frame, counted at ``rate``, that the clip's own timecode begins at."""
    return round(zero(clip, rate) / rate_of(clip, rate) * rate)


def _drops(rate: float) -> bool:
    return round(rate, 2) in {29.97, 59.94}


def _timecode(frame: int, rate: float) -> str:
    import opentimelineio as otio

    time = otio.opentime.RationalTime(frame % _day(rate), rate)
    return str(otio.opentime.to_timecode(time, rate, _drops(rate)))


def _day(rate: float) -> int:
    """Frames until timecode begins anew: 24 hours of it (107,892 frames an hour where frames are dropped)."""
    whole = 24 * 3600 * round(rate)
    return whole - whole // 1000 if _drops(rate) else whole
