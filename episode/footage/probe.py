"""What one file of footage is: how long, which streams, turned how, recorded when and by what."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from pydantic import Field

from episode.errors import UnusableMedia
from episode.footage.banner import read_banner
from episode.footage.containers import DEMUXERS, PROTOCOLS
from episode.footage.sizes import MOST_PIXELS
from episode.models import Seconds, Value

if TYPE_CHECKING:
    import av.container

_COUNTED = frozenset({"aac", "amr"})
"""Containers without an index, whose stated duration is a guess from the bit rate."""


class AudioTrack(Value):
    """One audio stream that can be decoded; ``index`` is its place among all streams of the file.

    ``stated`` is how many seconds of it the file's index counts, where the container keeps one a stream for whole
    clips alone (AVI: an edit list of MP4 and QuickTime leaves some out).
    """

    index: int
    codec: str
    rate: int
    channels: int
    default: bool
    stated: Seconds | None = None


class Probed(Value):
    """What a file says about itself.

    ``width`` and ``height`` are as coded; ``rotation`` is how far the picture has to be turned clockwise to stand
    upright (0, 90, 180 or 270, or any other angle that the file gives). ``tags`` are the container's tags with
    lower-case keys, those of the streams after them.
    """

    format: str
    duration: Seconds
    has_video: bool
    width: int | None = None
    height: int | None = None
    rotation: int = 0
    fps: float | None = None
    video_codec: str | None = None
    audio: tuple[AudioTrack, ...] = ()
    tags: dict[str, str] = Field(default_factory=dict)
    make: str | None = None
    model: str | None = None


def probe(path: Path, name: str | None = None) -> Probed:
    """Open ``path`` and describe it; ``name`` is how the person knows it, for messages.

    Raises:
        UnusableMedia: empty, cut short, not media, a playlist or script, not readable, or without sound and picture.
    """
    shown = name or path.name
    with _opened(path, shown) as container:
        tags = _tags(container)
        picture = _picture(container)
        audio = tuple(_audio(container))
        if picture is None and not audio:
            raise UnusableMedia(
                "there is neither sound nor picture in it that can be decoded",
                where=shown,
                remedy="Play the file; if it plays, export it as MP4 and put that into footage/ instead.",
            )
        duration = _duration(container, picture, audio)
        seen = _seen(picture, path) if picture is not None else Seen()
        return Probed(
            format=container.format.name,
            duration=duration,
            has_video=picture is not None,
            width=seen.width,
            height=seen.height,
            rotation=_rotation(container, picture, path) if picture is not None else 0,
            fps=seen.fps,
            video_codec=seen.codec,
            audio=audio,
            tags=tags,
            make=_first(tags, "com.apple.quicktime.make", "com.android.manufacturer", "make", "manufacturer"),
            model=_first(tags, "com.apple.quicktime.model", "com.android.model", "model", "originator"),
        )


class Seen(NamedTuple):
    """The picture's own figures."""

    width: int | None = None
    height: int | None = None
    fps: float | None = None
    codec: str | None = None


@contextlib.contextmanager
def _opened(path: Path, shown: str) -> Iterator[av.container.InputContainer]:
    import av
    from av.error import FFmpegError

    try:
        if not path.is_file():
            raise UnusableMedia("not a file", where=shown, remedy="Put the clip itself into footage/.")
        if path.stat().st_size == 0:
            raise UnusableMedia(
                "the file is empty (0 bytes)",
                where=shown,
                remedy="Copy it again from the camera's card; if it is empty there too, nothing was recorded.",
            )
        # A file object rather than a name: no name, however odd, is then read as a protocol or a pattern.
        with (
            path.open("rb") as file,
            av.open(
                file,
                metadata_errors="replace",
                buffer_size=1 << 16,
                options={"max_pixels": str(MOST_PIXELS)},  # streams are looked into when they are opened
                container_options={
                    "protocol_whitelist": ",".join(PROTOCOLS),
                    "format_whitelist": ",".join(DEMUXERS),
                },
            ) as container,
        ):
            yield cast("av.container.InputContainer", container)
    except FFmpegError as error:
        raise _not_media(path, shown, error) from error
    except OSError as error:
        raise UnusableMedia(
            f"cannot be read ({error.strerror or error})",
            where=shown,
            remedy="Check that the disk is there and that you may read the file.",
        ) from error


def _not_media(path: Path, shown: str, error: Exception) -> UnusableMedia:
    with contextlib.suppress(OSError):
        if _lost_index(path):
            return UnusableMedia(
                "the recording was cut short: its index (the `moov` box, written last) is missing",
                where=shown,
                remedy="Copy it again from the card; if the camera lost power, put the card back into the camera, "
                "which may offer to repair the file.",
            )
    reason = str(getattr(error, "strerror", None) or error)
    return UnusableMedia(
        f"not footage that can be read ({reason})",
        where=shown,
        remedy="Play the file; if it plays, export it as MP4; if not, copy it again from the card or take it out.",
    )


def _lost_index(path: Path) -> bool:
    """Whether this is an MP4 or QuickTime file whose ``moov`` box is missing (ISO 14496-12, box headers: 4.2)."""
    size = path.stat().st_size
    with path.open("rb") as file:
        at, kinds = 0, list[bytes]()
        while at + 8 <= size and len(kinds) < 1000:
            file.seek(at)
            head = file.read(16)
            length = int.from_bytes(head[:4], "big")
            kinds.append(head[4:8])
            if length == 1:
                length = int.from_bytes(head[8:16], "big")
            elif length == 0:
                length = size - at
            if length < 8:
                break
            at += length
    return bool(kinds) and kinds[0] in (b"ftyp", b"wide", b"mdat", b"free") and b"moov" not in kinds


def _tags(container: av.container.InputContainer) -> dict[str, str]:
    tags: dict[str, str] = {}
    for source in (container, *container.streams):
        for key, value in source.metadata.items():
            tags.setdefault(_clean(key).lower(), _clean(value))
    return tags


def _clean(text: str) -> str:
    text = text.encode("utf-8", "replace").decode("utf-8")
    return "".join(c if c.isprintable() else " " for c in text).strip()[:500]


def _picture(container: av.container.InputContainer) -> Any:
    """The first video stream that is moving picture: cover art is a single attached picture."""
    from av.stream import Disposition

    for stream in container.streams.video:
        if stream.disposition & Disposition.attached_pic or stream.codec_context is None:
            continue
        return stream
    return None


def _audio(container: av.container.InputContainer) -> Iterator[AudioTrack]:
    from av.stream import Disposition

    for stream in container.streams.audio:
        context = stream.codec_context
        if context is None or not context.channels or not context.sample_rate:
            continue  # a track that no decoder here understands
        yield AudioTrack(
            index=stream.index,
            codec=context.name,
            rate=context.sample_rate,
            channels=context.channels,
            default=bool(stream.disposition & Disposition.default),
            stated=_stated(container, stream),
        )


def _stated(container: av.container.InputContainer, stream: Any) -> float | None:
    if container.format.name != "avi" or not stream.duration or not stream.time_base or stream.duration < 0:
        return None
    return float(stream.duration * stream.time_base)


def _duration(container: av.container.InputContainer, picture: Any, audio: tuple[AudioTrack, ...]) -> float:
    """Seconds: as the container says, else its longest stream, else counted packet by packet."""
    if container.format.name not in _COUNTED:
        if container.duration and container.duration > 0:
            return float(container.duration) / 1_000_000
        stated = [float(s.duration * s.time_base) for s in container.streams if s.duration and s.time_base]
        if stated and max(stated) > 0:
            return max(stated)
    wanted = [container.streams[track.index] for track in audio] + ([picture] if picture is not None else [])
    return _counted(container, wanted)


def _counted(container: av.container.InputContainer, streams: list[Any]) -> float:
    from av.error import FFmpegError

    first: float | None = None
    last = 0.0
    with contextlib.suppress(FFmpegError):  # as far as it can be read
        for packet in container.demux(streams):
            when = packet.pts if packet.pts is not None else packet.dts
            if when is None or packet.time_base is None:
                continue
            begin = float(when * packet.time_base)
            first = begin if first is None else min(first, begin)
            last = max(last, begin + float((packet.duration or 0) * packet.time_base))
    return max(0.0, last - first) if first is not None else 0.0


def _seen(picture: Any, path: Path) -> Seen:
    context = picture.codec_context
    width, height = context.width, context.height
    if not width or not height:
        width, height = read_banner(path).too_large or (width, height)  # whose size was not taken over
    rate = picture.average_rate or picture.guessed_rate
    return Seen(
        width=width or None,
        height=height or None,
        fps=round(float(rate), 6) if rate else None,
        codec=context.name,
    )


def _rotation(container: av.container.InputContainer, picture: Any, path: Path) -> int:
    """Degrees clockwise. The display matrix comes with decoded frames; if none decodes, FFmpeg's banner has it."""
    from av.error import FFmpegError

    try:
        with contextlib.suppress(FFmpegError):
            container.seek(0)  # counting may have read to the end
        picture.codec_context.options = {"max_pixels": str(MOST_PIXELS)}
        for tried, frame in enumerate(container.decode(picture)):
            return -int(frame.rotation) % 360
            if tried:
                break
    except (FFmpegError, AttributeError, ValueError):
        pass
    counter_clockwise = read_banner(path).rotation
    return -round(counter_clockwise or 0) % 360


def _first(tags: dict[str, str], *keys: str) -> str | None:
    for key in keys:
        if value := tags.get(key, "")[:60].strip():
            return value
    return None
