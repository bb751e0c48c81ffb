"""Files that drafting gives, one module a format, all behind one interface.

Each module has ``NAME`` (the file's name in ``out/``) and ``render(day) -> str``. Nothing here touches the disk:
``render_all`` gives name and text, the caller writes.
"""

from __future__ import annotations

from collections.abc import Callable

from episode.day.templates import NAMES
from episode.drafting.result import DayResult


def render_all(day: DayResult) -> dict[str, str]:
    """Every file of this room by name, in a fixed order."""
    return {name: render(day) for name, render in formats().items()}


def formats() -> dict[str, Callable[[DayResult], str]]:
    """The formats by file name."""
    from episode.drafting.formats import (
        captions_srt,
        captions_vtt,
        chapters_ffmeta,
        chapters_json,
        chapters_podcast,
        chapters_txt,
        chapters_vtt,
        chapters_xml,
        claims_csv,
        corrections_txt,
        description_txt,
        log_check_csv,
        selects_edl,
        selects_otio,
        timeline_edl,
        timeline_otio,
    )

    modules = (
        chapters_json,
        chapters_txt,
        chapters_vtt,
        chapters_ffmeta,
        chapters_xml,
        chapters_podcast,
        captions_vtt,
        captions_srt,
        claims_csv,
        log_check_csv,
        timeline_otio,
        timeline_edl,
        selects_otio,
        selects_edl,
        description_txt,
        corrections_txt,
    )
    named = {module.NAME: module.render for module in modules}
    return {**named, **{name: _worded(name) for name in NAMES if name not in named}}


def _worded(name: str) -> Callable[[DayResult], str]:
    """A form of the description that the day already carries, else a new one."""

    def render(day: DayResult) -> str:
        from episode.drafting.description import draft

        return day.wordings.get(name) or draft(day).wordings[name]

    return render
