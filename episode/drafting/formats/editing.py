"""Parts that the OpenTimelineIO files share: media by relative path, frames, tracks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from urllib.parse import quote

from episode.drafting.rates import rate_of
from episode.models import Clip, Seconds

KEY = "episode"
"""Under which our own metadata stands."""


def timeline_of(name: str, pieces: Sequence[tuple[Clip, Any]], rate: float) -> Any:
    """A timeline of ``pieces`` (clip of footage, OTIO clip) end to end: a picture track, a sound track, or both.

    A piece without picture leaves a gap on the picture track, one without sound a gap on the sound track.
    """
    import opentimelineio as otio

    timeline = otio.schema.Timeline(name)
    marked: set[int] = set()
    for title, kind, wanted in _tracks([clip for clip, _ in pieces]):
        track = otio.schema.Track(title, kind=kind)
        for index, (_, piece) in enumerate(pieces):
            track.append(_copy(piece, marks=index not in marked) if wanted[index] else _gap(piece))
            marked |= {index} if wanted[index] else set()
        timeline.tracks.append(track)
    timeline.global_start_time = otio.opentime.RationalTime(0, rate)
    return timeline


def piece_of(clip: Clip, start: Seconds, end: Seconds, name: str, rate: float) -> Any:
    """An OTIO clip of ``start`` to ``end`` seconds of ``clip``, at the clip's own rate, ``rate`` where it has none."""
    import opentimelineio as otio

    own, first = rate_of(clip, rate), zero(clip, rate)
    return otio.schema.Clip(
        name=name,
        media_reference=otio.schema.ExternalReference(
            target_url="../footage/" + quote(clip.name, safe="/"),
            available_range=span(0.0, clip.duration, own, first),
        ),
        source_range=span(start, end, own, first),
        metadata={KEY: {"clip": clip.name, "camera": clip.camera}},
    )


def span(start: Seconds, end: Seconds, rate: float, zero: int = 0) -> Any:
    """Seconds as a range of whole frames, counted from frame ``zero``; never empty."""
    import opentimelineio as otio

    first = round(start * rate)
    frames = max(1, round(end * rate) - first)
    return otio.opentime.TimeRange(
        otio.opentime.RationalTime(zero + first, rate), otio.opentime.RationalTime(frames, rate)
    )


def zero(clip: Clip, rate: float) -> int:
    """The frame that the clip's own timecode begins at, at its own rate; 0 where it carries none.

    Media are counted from there (OpenTimelineIO, "Time ranges": the available range starts at the media's timecode).
    """
    import opentimelineio as otio

    if not clip.timecode:
        return 0
    try:
        return int(otio.opentime.from_timecode(clip.timecode, rate_of(clip, rate)).value)
    except (ValueError, TypeError):
        return 0


def to_json(timeline: Any) -> str:
    """OpenTimelineIO's own JSON."""
    import opentimelineio as otio

    return str(otio.adapters.write_to_string(timeline, "otio_json", indent=1)) + "\n"


def _tracks(clips: Sequence[Clip]) -> list[tuple[str, str, list[bool]]]:
    """Title, kind and, clip by clip, whether it stands there. What has neither picture nor sound goes to the first."""
    import opentimelineio as otio

    picture = [clip.has_video or not clip.audio_tracks for clip in clips]
    sound = [bool(clip.audio_tracks) for clip in clips]
    tracks = [("Picture", otio.schema.TrackKind.Video, picture), ("Sound", otio.schema.TrackKind.Audio, sound)]
    return [track for track in tracks if any(track[2])] or tracks[:1]


def _copy(piece: Any, *, marks: bool) -> Any:
    copy = piece.deepcopy()
    if not marks:  # a marker stands once, on the first track that has the clip
        del copy.markers[:]
    return copy


def _gap(piece: Any) -> Any:
    import opentimelineio as otio

    return otio.schema.Gap(source_range=piece.source_range)
