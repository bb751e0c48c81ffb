"""Every clip in order, with a marker for each moment, for an editor (OpenTimelineIO).

Each clip keeps its own frame rate. Media are named by a path relative to ``out/``.
"""

from __future__ import annotations

from typing import Any

from episode.drafting.formats.editing import KEY, piece_of, span, timeline_of, to_json, zero
from episode.drafting.formats.marking import colour_of, comment_of
from episode.drafting.outgoing import outgoing
from episode.drafting.rates import common_rate, rate_of
from episode.drafting.result import DayResult
from episode.drafting.selects import label
from episode.models import Clip, Moment

NAME = "timeline.otio"


def render(day: DayResult) -> str:
    """The file's text."""
    rate = common_rate(day.clips)
    pieces = []
    for clip in day.clips:
        piece = piece_of(clip, 0.0, clip.duration, clip.name, rate)
        piece.markers.extend(_marker(m, clip, day, rate) for m in day.moments if m.clip == clip.name)
        pieces.append((clip, piece))
    return to_json(timeline_of(outgoing(day.settings.title, day.settings) or "All clips", pieces, rate))


def _marker(moment: Moment, clip: Clip, day: DayResult, rate: float) -> Any:
    import opentimelineio as otio

    return otio.schema.Marker(
        name=label(moment, day.settings),
        marked_range=span(
            min(moment.start, clip.duration), min(moment.end, clip.duration), rate_of(clip, rate), zero(clip, rate)
        ),
        color=colour_of(moment),
        comment=comment_of(moment, day),
        metadata={
            KEY: {
                "moment": moment.id,
                "term": moment.term or "",
                "stance": moment.stance.value,
                "find": moment.find or "",
                "confidence": moment.confidence,
                "at": moment.at.isoformat(),
                "heard": [outgoing(mention.heard, day.settings) for mention in moment.mentions],
            }
        },
    )
