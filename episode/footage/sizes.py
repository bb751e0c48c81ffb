"""How large a picture and how long a clip is decoded."""

from __future__ import annotations

from episode.models import Clip

MOST_PIXELS = 35_651_584
"""8192 by 4352: the most of level 6.2 in H.264 (ITU-T H.264, table A-1: 139,264 macroblocks) as in H.265 (ITU-T H.265,
annex A). A frame of 16,000 by 16,000 takes FFmpeg up to 4 GiB."""

MOST_SECONDS = 7 * 24 * 3600.0
"""No clip lasts longer: one that says so, or whose sound goes on so long, has broken time stamps."""


def too_large(width: int | None, height: int | None) -> bool:
    """Whether a picture of so many pixels across and down is left alone."""
    return (width or 0) * (height or 0) > MOST_PIXELS


def has_frames(clip: Clip) -> bool:
    """Whether frames of ``clip`` can be had: there is picture in it, and not too large a one."""
    return clip.has_video and not too_large(clip.width, clip.height)
