"""Every clip in order, with a remark for each moment, as an edit decision list (CMX 3600)."""

from __future__ import annotations

from episode.drafting.formats.editlist import Event, Mark, edit_list
from episode.drafting.formats.marking import colour_of, comment_of
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.drafting.selects import label
from episode.models import Clip

NAME = "timeline.edl"


def render(day: DayResult) -> str:
    """The file's text: an event a clip, whole, and a ``LOC`` a moment."""
    events = [Event(clip, 0.0, clip.duration, clip.name, _marks(day, clip)) for clip in day.clips]
    return edit_list(outgoing(day.settings.title, day.settings) or "All clips", events, day.clips)


def _marks(day: DayResult, clip: Clip) -> tuple[Mark, ...]:
    told = []
    for moment in day.moments:
        if moment.clip == clip.name:
            comment = comment_of(moment, day)
            text = label(moment, day.settings) + (f" - {comment}" if comment else "")
            told.append(Mark(moment.start, text, colour_of(moment)))
    return tuple(told)
