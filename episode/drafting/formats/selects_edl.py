"""The selects as an edit decision list (CMX 3600)."""

from __future__ import annotations

from episode.drafting.formats.editlist import Event, edit_list, reel_names
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.drafting.selects import selects

__all__ = ["NAME", "reel_names", "render"]

NAME = "selects.edl"


def render(day: DayResult) -> str:
    """The file's text."""
    clips = {clip.name: clip for clip in day.clips}
    chosen = selects(day.moments, day.transcript, day.clips, day.settings)
    events = [Event(clips[s.clip], s.start, s.end, s.name) for s in chosen]
    return edit_list(outgoing(day.settings.title, day.settings) or "Selects", events, day.clips)
