"""The day's clips in the order in which they were really filmed."""

from __future__ import annotations

from collections.abc import Sequence

from episode.matching.wall import epoch
from episode.models import Clip, Clock


def in_true_order(clips: Sequence[Clip], clocks: Sequence[Clock]) -> tuple[Clip, ...]:
    """``clips`` by their starts on the log's clock, ties by name.

    A clip's own clock counts before its camera's; a camera whose clock is not known keeps its own time.
    """
    own = {clock.clip: clock for clock in clocks if clock.clip is not None}
    cameras = {clock.camera: clock for clock in clocks if clock.clip is None}

    def start(clip: Clip) -> tuple[float, str]:
        clock = own.get(clip.name) or cameras.get(clip.camera)
        return epoch(clip.start) + (clock.offset_s if clock else 0.0), clip.name

    return tuple(sorted(clips, key=start))
