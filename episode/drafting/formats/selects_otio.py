"""Only the stretches worth keeping, in order, as a start for the edit (OpenTimelineIO)."""

from __future__ import annotations

from typing import Any

from episode.drafting.formats.editing import KEY, piece_of, timeline_of, to_json
from episode.drafting.outgoing import outgoing
from episode.drafting.rates import common_rate
from episode.drafting.result import DayResult
from episode.drafting.selects import selects

NAME = "selects.otio"


def render(day: DayResult) -> str:
    """The file's text."""
    return to_json(timeline(day))


def timeline(day: DayResult) -> Any:
    """The selects as an OTIO timeline, each piece at its clip's own rate."""
    rate = common_rate(day.clips)
    clips = {clip.name: clip for clip in day.clips}
    pieces = []
    for select in selects(day.moments, day.transcript, day.clips, day.settings):
        clip = clips[select.clip]
        piece = piece_of(clip, select.start, select.end, select.name, rate)
        piece.metadata[KEY]["moments"] = list(select.moments)
        piece.metadata[KEY]["sort"] = select.sort
        pieces.append((clip, piece))
    title = outgoing(day.settings.title, day.settings)
    return timeline_of(f"{title}: selects" if title else "Selects", pieces, rate)
