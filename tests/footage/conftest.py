"""Tiny real media, made by the FFmpeg in use: test pictures and tones, nothing recorded."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from episode.footage.probe import probe
from episode.footage.tools import ffmpeg
from episode.models import Clip, Settings, StartFrom

PICTURE = ["-f", "lavfi", "-i", "testsrc=size=320x240:rate=25:duration=2"]
TONE = ["-f", "lavfi", "-i", "sine=frequency=440:duration=2:sample_rate=48000"]
VIDEO = ["-c:v", "mpeg4", "-q:v", "5"]
MODIFIED = datetime(2026, 5, 4, 8, 0, tzinfo=UTC).timestamp()


def run_ffmpeg(*arguments: str) -> None:
    subprocess.run(
        [str(ffmpeg().path), "-nostdin", "-v", "error", "-y", *arguments], check=True, stdin=subprocess.DEVNULL
    )


def make_clip(
    target: Path, *, created: str | None = "2026-05-03T09:41:12Z", tags: dict[str, str] | None = None
) -> Path:
    """A two-second clip of test picture and tone, last written on 4 May 2026."""
    stated = dict(tags or {})
    if created:
        stated["creation_time"] = created
    marks = [part for key, value in stated.items() for part in ("-metadata", f"{key}={value}")]
    target.parent.mkdir(parents=True, exist_ok=True)
    run_ffmpeg(*PICTURE, *TONE, *VIDEO, *marks, "-movflags", "use_metadata_tags", f"file:{target}")
    os.utime(target, (MODIFIED, MODIFIED))
    return target


def as_clip(path: Path) -> Clip:
    told = probe(path)
    return Clip(
        name=path.name,
        path=path,
        duration=told.duration,
        start=datetime(2026, 5, 3, 9, tzinfo=UTC),
        start_from=StartFrom.CREATION,
        camera="camera",
        audio_tracks=len(told.audio),
        has_video=told.has_video,
    )


@pytest.fixture(scope="session")
def plain_clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_clip(tmp_path_factory.mktemp("media") / "plain.mp4", tags={"make": "Orrin", "model": "K2"})


@pytest.fixture
def day(tmp_path: Path, plain_clip: Path) -> Callable[..., Path]:
    """A day folder whose footage holds copies of the plain clip under the names given."""

    def lay_out(*names: str) -> Path:
        for name in names:
            target = tmp_path / "footage" / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(plain_clip.read_bytes())
            os.utime(target, (MODIFIED, MODIFIED))
        return tmp_path

    return lay_out


@pytest.fixture
def london() -> Settings:
    return Settings(time_zone="Europe/London")
