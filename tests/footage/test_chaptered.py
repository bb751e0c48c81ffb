"""Chapters in a copy of a film: FFmpeg's own hash of every packet says that nothing was re-encoded."""

from __future__ import annotations

import hashlib
import re
import subprocess
from pathlib import Path

import pytest

from episode.errors import UnusableInput, UnusableMedia
from episode.footage.chaptered import with_chapters
from episode.footage.probe import probe
from episode.footage.tools import ffmpeg
from episode.models import Chapter

CHAPTERS = (
    Chapter(start=0, end=1.5, title="A pipe; bowl = #1 \\ “1680”"),
    Chapter(start=1.5, end=3, title="Codd bottle, 1872"),
)
PICTURE = ["-f", "lavfi", "-i", "testsrc=s=64x48:r=10:d=3"]
SOUND = ["-f", "lavfi", "-i", "sine=440:d=3:r=44100"]
TAGS = ["-metadata", "title=The tide", "-metadata", "artist=Maud", "-metadata", "location=+51.5012-000.1230/"]
KINDS = {
    "film.mp4": [*PICTURE, *SOUND, "-c:v", "mpeg4", "-c:a", "aac"],
    "film.mov": [*PICTURE, *SOUND, "-c:v", "mpeg4", "-c:a", "aac"],
    "film.mkv": [*PICTURE, *SOUND, "-c:v", "mpeg4", "-c:a", "flac"],
    "film.webm": [*PICTURE, *SOUND, "-c:v", "libvpx", "-c:a", "libopus"],
    "film.m4a": [*SOUND, "-c:a", "aac"],
    "film.mp3": [*SOUND, "-c:a", "libmp3lame"],
}


def run(*arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(ffmpeg().path), "-nostdin", "-hide_banner", *map(str, arguments)], capture_output=True, text=True, check=False
    )  # fmt: skip


def film(folder: Path, name: str) -> Path:
    path = folder / name
    ran = run("-v", "error", *KINDS[name], *TAGS, path)
    assert ran.returncode == 0, ran.stderr
    return path


def streams(path: Path) -> list[str]:
    """The hash of every picture and sound stream's packets, as FFmpeg's ``streamhash`` gives it."""
    ran = run("-v", "error", "-i", path, "-map", "0:v?", "-map", "0:a?", "-c", "copy", "-f", "streamhash", "-")
    assert ran.returncode == 0, ran.stderr
    return ran.stdout.splitlines()


def described(path: Path) -> str:
    return run("-i", path).stderr


@pytest.mark.parametrize("name", KINDS)
def test_chapters_come_in_and_nothing_else_changes(tmp_path: Path, name: str) -> None:
    source = film(tmp_path, name)
    before = hashlib.sha256(source.read_bytes()).hexdigest()
    target = tmp_path / f"copy-{name}"
    with_chapters(source, target, CHAPTERS, title="Not this one")
    assert streams(target) == streams(source)
    assert hashlib.sha256(source.read_bytes()).hexdigest() == before
    told = described(target)
    found = re.findall(r"Chapter #0:\d+: start ([\d.]+), end ([\d.]+)\s+Metadata:\s+title\s+: (.*)", told)
    assert [(float(a), title) for a, _, title in found] == [(0.0, CHAPTERS[0].title), (1.5, CHAPTERS[1].title)]
    tags = probe(target).tags
    assert (tags["title"], tags["artist"]) == ("The tide", "Maud")
    assert "51.50" not in told
    assert b"51.5012" not in target.read_bytes()
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith(".part-")] == []


def test_old_chapters_are_replaced(tmp_path: Path) -> None:
    first = tmp_path / "first.mp4"
    with_chapters(film(tmp_path, "film.mp4"), first, (Chapter(start=0, end=3, title="old chapter"),))
    assert "old chapter" in described(first)
    with_chapters(first, tmp_path / "second.mp4", CHAPTERS)
    told = described(tmp_path / "second.mp4")
    assert "old chapter" not in told
    assert "Codd bottle" in told
    assert streams(tmp_path / "second.mp4") == streams(first)


def test_a_film_without_title_gets_the_days(tmp_path: Path) -> None:
    path = tmp_path / "plain.mp4"
    assert run("-v", "error", *KINDS["film.mp4"], path).returncode == 0
    with_chapters(path, tmp_path / "copy.mp4", CHAPTERS, title="Skelby Sands")
    assert probe(tmp_path / "copy.mp4").tags["title"] == "Skelby Sands"


def test_a_phones_position_stays_behind(tmp_path: Path) -> None:
    """QuickTime's own keys (Apple, QuickTime File Format, "Metadata keys"; from memory)."""
    path = tmp_path / "phone.mov"
    keys = {"com.apple.quicktime.location.ISO6709": "+51.5012-000.1230/", "com.apple.quicktime.make": "Phone"}
    more = [part for key, value in keys.items() for part in ("-metadata", f"{key}={value}")]
    ran = run("-v", "error", *KINDS["film.mov"], *more, "-movflags", "use_metadata_tags", path)
    assert ran.returncode == 0, ran.stderr
    assert b"51.5012" in path.read_bytes()
    with_chapters(path, tmp_path / "copy.mov", CHAPTERS)
    assert b"51.5012" not in (tmp_path / "copy.mov").read_bytes()
    assert probe(tmp_path / "copy.mov").tags["com.apple.quicktime.make"] == "Phone"


def test_what_is_refused(tmp_path: Path) -> None:
    source = film(tmp_path, "film.mp4")
    link = tmp_path / "link.mp4"
    link.hardlink_to(source)
    for target in (source, link):
        with pytest.raises(UnusableInput, match="film itself"):
            with_chapters(source, target, CHAPTERS, replace=True)
    other = tmp_path / "other.mp4"
    other.write_text("mine")
    with pytest.raises(UnusableInput, match="exists already"):
        with_chapters(source, other, CHAPTERS)
    assert other.read_text() == "mine"
    with pytest.raises(UnusableInput, match="hold no chapters"):
        with_chapters(source, tmp_path / "copy.wav", CHAPTERS)
    with_chapters(source, other, CHAPTERS, replace=True)
    assert streams(other) == streams(source)


def test_a_container_that_does_not_take_it(tmp_path: Path) -> None:
    source = film(tmp_path, "film.mp4")
    with pytest.raises(UnusableMedia, match="could not be copied"):
        with_chapters(source, tmp_path / "copy.webm", CHAPTERS)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["film.mp4"]
