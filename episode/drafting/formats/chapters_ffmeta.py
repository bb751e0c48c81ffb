"""Chapters as FFmpeg metadata (``FFMETADATA1``), to be put into a finished film with ``ffmpeg -i``.

Form and escaping: FFmpeg formats documentation, "Metadata muxer and demuxer" (from memory): ``=``, ``;``, ``#``,
the backslash and the line end are escaped with a backslash.
"""

from __future__ import annotations

import re

from episode.drafting.result import DayResult

NAME = "chapters.ffmeta"

_SPECIAL = re.compile(r"([=;#\\\n])")


def render(day: DayResult) -> str:
    """The file's text, in thousandths of a second."""
    parts = [";FFMETADATA1\n"]
    for chapter in day.chapters:
        parts.append(
            "[CHAPTER]\nTIMEBASE=1/1000\n"
            f"START={round(chapter.start * 1000)}\nEND={round(chapter.end * 1000)}\n"
            f"title={_SPECIAL.sub(_escaped, chapter.title)}\n"
        )
    return "".join(parts)


def _escaped(match: re.Match[str]) -> str:
    return "\\" + match.group()
