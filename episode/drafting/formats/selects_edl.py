"""The selects as an edit decision list (CMX 3600), for editors that read nothing newer.

An EDL has one frame rate: that of most of the footage. Times in clips of another rate are brought to it frame by
frame; 29.97 and 59.94 are counted as drop-frame timecode and the file says so. Source timecode counts from each
clip's first frame, as 00:00:00:00. A reel has eight characters: the last letters and digits of the clip's name and,
where those are not unique, a number; the comment lines carry the whole name.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from pathlib import PurePosixPath
from typing import Any

from episode.drafting.outgoing import one_line, outgoing
from episode.drafting.rates import common_rate
from episode.drafting.result import DayResult
from episode.drafting.selects import Select, selects

NAME = "selects.edl"
MOST_EVENTS = 999
"""Event numbers have three digits."""
_REEL_LENGTH = 8


def render(day: DayResult) -> str:
    """The file's text, CR LF at line ends as the format's readers expect."""
    import opentimelineio as otio

    rate = common_rate(day.clips)
    reels = reel_names([clip.name for clip in day.clips])
    chosen = selects(day.moments, day.clips, day.settings)[:MOST_EVENTS]
    title = _ascii(outgoing(day.settings.title, day.settings) or "Selects")[:70]
    if not chosen:
        return f"TITLE: {title}\r\n{_counting('')}\r\n"
    timeline = otio.schema.Timeline(title)
    track = otio.schema.Track("V", kind=otio.schema.TrackKind.Video)
    track.extend([_event(select, reels, rate) for select in chosen])
    timeline.tracks.append(track)
    text = otio.adapters.write_to_string(timeline, "cmx_3600", rate=rate, style="avid")
    text = text.replace("\n\n", f"\n{_counting(text)}\n\n", 1)
    return "\r\n".join(text.rstrip("\n").split("\n")) + "\r\n"


def reel_names(names: Sequence[str]) -> dict[str, str]:
    """A reel for each clip name: up to eight letters and digits, in capitals, no two alike."""
    found: dict[str, str] = {}
    for name in names:
        stem = re.sub(r"[^A-Z0-9]", "", _ascii(PurePosixPath(name).stem).upper()) or "CLIP"
        reel, number = stem[-_REEL_LENGTH:], 1
        while reel in found.values():
            number += 1
            reel = stem[-_REEL_LENGTH:][: _REEL_LENGTH - len(str(number))] + str(number)
        found[name] = reel
    return found


def _counting(events: str) -> str:
    return "FCM: DROP FRAME" if ";" in events else "FCM: NON-DROP FRAME"


def _event(select: Select, reels: dict[str, str], rate: float) -> Any:
    import opentimelineio as otio

    first = round(select.start * rate)
    frames = max(1, round(select.end * rate) - first)
    return otio.schema.Clip(
        name=_ascii(select.name),
        media_reference=otio.schema.MissingReference(),
        source_range=otio.opentime.TimeRange(
            otio.opentime.RationalTime(first, rate), otio.opentime.RationalTime(frames, rate)
        ),
        metadata={
            "cmx_3600": {
                "reel": reels[select.clip],
                "comments": [f"SOURCE FILE: {one_line(select.clip)}"],
            }
        },
    )


def _ascii(text: str) -> str:
    """Letters without accents; what has no plain form becomes a space, and a semicolon a comma."""
    plain = unicodedata.normalize("NFKD", one_line(text)).encode("ascii", "ignore").decode("ascii")
    return one_line(plain.replace(";", ","))
