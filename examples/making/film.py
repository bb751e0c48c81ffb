"""Pictures and sound into a file as a camera would leave it, make, model and clock included."""

from __future__ import annotations

import subprocess
import tempfile
import wave
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

import imageio_ffmpeg
import numpy as np
from PIL import Image
from timeline import FRAMES_A_SECOND
from voice import RATE

MAKES = {"chest": ("Tarnlight", "Tarnlight C2"), "hand": ("Brackwater", "Brackwater Pocket")}

WRITES_ZONE = {"hand"}
"""Cameras that also note their local time with its offset from UTC."""


def film(target: Path, pictures: Iterable[Image.Image], sound: np.ndarray, camera: str, clock: datetime | None) -> None:
    """Write ``target`` as MP4 (H.264, AAC). ``clock`` is what the camera believed; None leaves no creation time."""
    target.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "sound.wav"
        _write_wav(wav, sound)
        pictures = iter(pictures)
        first = next(pictures)
        command = [
            imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-y",
            "-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{first.width}x{first.height}", "-r", str(FRAMES_A_SECOND),
            "-i", "-",
            "-i", str(wav),
            "-c:v", "libx264", "-preset", "veryslow", "-crf", "29", "-threads", "1", "-pix_fmt", "yuv420p",
            "-g", str(12 * FRAMES_A_SECOND), "-colorspace", "bt709",
            "-c:a", "aac", "-b:a", "34k", "-ac", "1",
            "-max_interleave_delta", "0",
            "-fflags", "+bitexact", "-flags:v", "+bitexact", "-flags:a", "+bitexact", "-map_metadata", "-1",
            "-movflags", "+use_metadata_tags+faststart", *_tags(camera, clock), str(target),
        ]  # fmt: skip
        with subprocess.Popen(command, stdin=subprocess.PIPE) as ffmpeg:
            ffmpeg.stdin.write(first.tobytes())
            for picture in pictures:
                ffmpeg.stdin.write(picture.tobytes())
            ffmpeg.stdin.close()
        if ffmpeg.returncode:
            raise SystemExit(f"FFmpeg gave up on {target.name}: exit status {ffmpeg.returncode}")
    if clock is not None:
        _set_clock(target, clock)


def _tags(camera: str, clock: datetime | None) -> list[str]:
    make, model = MAKES[camera]
    tags = {"com.apple.quicktime.make": make, "com.apple.quicktime.model": model}
    if clock is not None and camera in WRITES_ZONE:
        tags["com.apple.quicktime.creationdate"] = f"{clock:%Y-%m-%dT%H:%M:%S%z}"
    return [part for key, value in tags.items() for part in ("-metadata", f"{key}={value}")]


def _set_clock(path: Path, clock: datetime) -> None:
    """Put the creation time into the movie, track and media headers (ISO 14496-12, version 0: seconds since 1904).

    FFmpeg would write it twice, once more as a text tag, as soon as it may write make and model.
    """
    seconds = int((clock - datetime(1904, 1, 1, tzinfo=UTC)).total_seconds()).to_bytes(4, "big")
    data = bytearray(path.read_bytes())
    head = data.index(b"moov")
    for kind in (b"mvhd", b"tkhd", b"mdhd"):
        at = data.find(kind, head)
        while at >= 0:
            data[at + 8 : at + 16] = seconds * 2
            at = data.find(kind, at + 1, data.index(b"mdat"))
    path.write_bytes(data)


def _write_wav(path: Path, sound: np.ndarray) -> None:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
