"""A clip's sound, in pieces that fit into memory."""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO, TYPE_CHECKING

from episode.errors import UnusableMedia
from episode.footage.commands import LONGEST_GAP_S, sound_command
from episode.footage.complaints import complaints
from episode.footage.probe import AudioTrack, probe
from episode.footage.sizes import MOST_SECONDS
from episode.models import Clip

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

RATE = 16_000
"""Samples a second: what speech recognisers are trained on."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of sound. ``start`` is seconds in the clip; ``samples`` is mono, float32, nominally -1 to 1."""

    index: int
    start: float
    samples: npt.NDArray[np.float32]


def pieces(
    clip: Clip,
    *,
    seconds: float = 600,
    clean: bool = False,
    rate: int = RATE,
    begin: float = 0.0,
    until: float | None = None,
) -> Iterator[Piece]:
    """The sound of ``clip`` from ``begin`` to ``until``, mono at ``rate``, in pieces of ``seconds`` that touch.

    One FFmpeg process decodes from beginning to end; no more than one piece is held. Of several tracks, the first
    that the file marks as default is taken, else the first. ``clean`` takes out rumble below 90 Hz and evens
    out the loudness over some seven seconds (shorter clips stay as loud as they are). A clip without sound gives
    no piece.

    Raises:
        UnusableMedia: FFmpeg failed; what was decoded before that has been given, and the message says how far.
    """
    import numpy as np

    if not clip.audio_tracks:
        return
    track = default_track(probe(clip.path, clip.name).audio)
    if track is None:
        return
    command = sound_command(clip.path, track.index, rate=rate, clean=clean, begin=begin, until=until)
    size = max(1, round(seconds * rate)) * 4
    done = 0
    # Complaints go to a file: a pipe that nobody empties would fill up and stop FFmpeg.
    with tempfile.TemporaryFile() as said:
        process = subprocess.Popen(  # noqa: S603 - our own arguments, no shell
            command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=said
        )
        try:
            assert process.stdout is not None  # noqa: S101 - for the type checker: it was asked for above
            index = 0
            while data := _read_full(process.stdout, size):
                usable = len(data) - len(data) % 4
                samples = np.frombuffer(data[:usable], dtype="<f4").astype(np.float32, copy=True)
                np.nan_to_num(samples, copy=False, nan=0.0, posinf=1.0, neginf=-1.0)
                if samples.size:
                    yield Piece(index, begin + done / rate, samples)
                index += 1
                done += samples.size
                if begin + done / rate > MOST_SECONDS:
                    raise _broken_off(clip, begin + done / rate, "it goes on for days: its time stamps are broken")
            status = process.wait()
        finally:
            _end(process)
        _judge(clip, status, _tail(said), begin, done / rate, until)
        if until is None and track.stated is not None and _short(begin + done / rate, track.stated):
            raise _broken_off(clip, begin + done / rate, "the file counts more")


def default_track(tracks: tuple[AudioTrack, ...]) -> AudioTrack | None:
    """The first track marked as default, else the first."""
    return next((t for t in tracks if t.default), tracks[0] if tracks else None)


def _read_full(stream: IO[bytes], size: int) -> bytes:
    parts: list[bytes] = []
    missing = size
    while missing and (data := stream.read(min(missing, 1 << 20))):
        parts.append(data)
        missing -= len(data)
    return b"".join(parts)


def _end(process: subprocess.Popen[bytes]) -> None:
    """Leave no process behind, also when the caller stops half way."""
    if process.stdout is not None:
        process.stdout.close()
    if process.poll() is None:
        process.kill()
        process.wait()


def _tail(file: IO[bytes]) -> str:
    file.seek(0, 2)
    file.seek(max(0, file.tell() - 4000))
    return complaints(file.read(), last=2)


def _judge(clip: Clip, status: int, complaint: str, begin: float, decoded: float, until: float | None) -> None:
    """FFmpeg skips damage and ends well even when most of a clip is gone: complaints and a shortfall tell."""
    wanted = min(clip.duration, until if until is not None else clip.duration) - begin
    short = _short(decoded, wanted)
    reached = begin + decoded
    if status == 0 and not decoded and until is None and begin == 0:
        raise UnusableMedia(
            "nothing of its sound could be decoded" + (f" ({complaint})" if complaint else ""),
            where=clip.name,
            remedy="Copy the clip again from the card; if it plays elsewhere, export it anew as MP4.",
        )
    if status == 0 and decoded < wanted - LONGEST_GAP_S and not complaint:
        raise UnusableMedia(
            f"it says that it lasts {_clock(clip.duration)}, and its sound ends at {_clock(reached)}: "
            "its time stamps jump, or the sound breaks off",
            where=f"{clip.name} at {_clock(reached)}",
            remedy="Times in this clip may be wrong after the jump; copy it again from the card, or export it anew.",
        )
    if status == 0 and not (short and complaint):
        return
    raise _broken_off(clip, reached, complaint)


def _short(decoded: float, wanted: float) -> bool:
    return decoded < wanted - max(1.0, 0.02 * wanted)


def _broken_off(clip: Clip, reached: float, why: str) -> UnusableMedia:
    return UnusableMedia(
        f"the sound could be decoded only up to {_clock(reached)}" + (f" ({why})" if why else ""),
        where=f"{clip.name} at {_clock(reached)}",
        remedy="Copy the clip again from the card; what came before that point is used.",
    )


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"
