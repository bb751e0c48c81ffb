from __future__ import annotations

from pathlib import Path

import pytest

from episode.errors import UnusableMedia
from episode.footage.banner import read_banner
from episode.footage.probe import probe
from tests.footage.conftest import PICTURE, TONE, VIDEO, make_clip, run_ffmpeg


def test_agrees_with_ffmpegs_own_banner(plain_clip: Path) -> None:
    """The banner is written by another program (FFmpeg's command line), the probe by libav through PyAV."""
    told, banner = probe(plain_clip), read_banner(plain_clip)
    assert told.duration == pytest.approx(banner.duration, abs=0.01)
    assert f"{told.width}x{told.height}" in banner.video[0]
    assert f"{told.fps:g} fps" in banner.video[0]
    assert len(told.audio) == len(banner.audio) == 1
    assert f"{told.audio[0].rate} Hz" in banner.audio[0]
    assert (told.make, told.model) == ("Orrin", "K2")
    assert told.tags["creation_time"].startswith("2026-05-03T09:41:12")


@pytest.mark.parametrize("turned", [90, 180, -90, 0])
def test_rotation_is_clockwise_and_agrees_with_the_banner(tmp_path: Path, plain_clip: Path, turned: int) -> None:
    target = tmp_path / "turned.mp4"
    run_ffmpeg("-display_rotation", str(turned), "-i", str(plain_clip), "-c", "copy", str(target))
    assert probe(target).rotation == -turned % 360
    assert round(read_banner(target).rotation or 0) % 360 == turned % 360


@pytest.mark.parametrize("ending", ["wav", "mp3", "m4a", "flac", "ogg"])
def test_sound_alone(tmp_path: Path, ending: str) -> None:
    target = tmp_path / f"sound.{ending}"
    run_ffmpeg(*TONE, str(target))
    told = probe(target)
    assert not told.has_video
    assert len(told.audio) == 1
    assert told.duration == pytest.approx(2, abs=0.1)


def test_raw_aac_is_counted_not_guessed(tmp_path: Path) -> None:
    """Silence then noise: the bit rate of the beginning says nothing about the whole."""
    target = tmp_path / "sound.aac"
    run_ffmpeg(
        "-f", "lavfi", "-i", "anullsrc=r=48000:d=8", "-f", "lavfi", "-i", "anoisesrc=r=48000:d=8",
        "-filter_complex", "[0][1]concat=v=0:a=1", str(target),
    )  # fmt: skip
    assert probe(target).duration == pytest.approx(16, abs=0.1)


def test_no_sound_and_two_tracks(tmp_path: Path) -> None:
    silent, two = tmp_path / "silent.mp4", tmp_path / "two.mkv"
    run_ffmpeg(*PICTURE, *VIDEO, str(silent))
    run_ffmpeg(*PICTURE, *TONE, *TONE, *VIDEO, "-map", "0", "-map", "1", "-map", "2", str(two))
    assert probe(silent).audio == ()
    assert len(probe(two).audio) == 2


def test_cover_art_is_not_picture(tmp_path: Path) -> None:
    cover, song = tmp_path / "cover.png", tmp_path / "song.mp3"
    run_ffmpeg(*PICTURE, "-frames:v", "1", str(cover))
    run_ffmpeg(
        *TONE, "-i", str(cover), "-map", "0", "-map", "1", "-c:v", "copy", "-disposition:v", "attached_pic", str(song)
    )
    told = probe(song)
    assert not told.has_video
    assert told.width is None


def damaged(tmp_path: Path, plain_clip: Path, kind: str) -> Path:
    path = tmp_path / f"{kind}.mp4"
    data = plain_clip.read_bytes()
    path.write_bytes(
        {
            "empty": b"",
            "cut short": data[: len(data) // 2],
            "text": b"the tide turned at ten past two\n" * 50,
            "playlist": b"#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:5,\nfile:///etc/passwd\n#EXT-X-ENDLIST\n",
            "script": f"ffconcat version 1.0\nfile '{plain_clip}'\n".encode(),
            "zeros": bytes(4096),
        }[kind]
    )
    return path


@pytest.mark.parametrize(
    ("kind", "what"),
    [
        ("empty", "0 bytes"),
        ("cut short", "moov"),
        ("text", "not footage"),
        ("playlist", "not footage"),
        ("script", "not footage"),
        ("zeros", "not footage"),
    ],
)
def test_unusable_files_say_why(tmp_path: Path, plain_clip: Path, kind: str, what: str) -> None:
    with pytest.raises(UnusableMedia, match=what) as caught:
        probe(damaged(tmp_path, plain_clip, kind), "cam/clip.mp4")
    assert caught.value.where == "cam/clip.mp4"
    assert caught.value.remedy


def test_a_missing_file_and_a_folder_are_unusable(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "gone.mp4"):
        with pytest.raises(UnusableMedia, match="not a file"):
            probe(path)


@pytest.mark.parametrize(
    "name", ["-i.mp4", "a b'c\"d.mp4", "line\nbreak.mp4", "pot 🏺 %03d.mp4", "http:x.mp4", "a|b;c&.mp4"]
)
def test_odd_names(tmp_path: Path, plain_clip: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(plain_clip.read_bytes())
    assert probe(path).duration == pytest.approx(2, abs=0.1)
    assert read_banner(path).duration == pytest.approx(2, abs=0.1)


def test_control_characters_in_tags_do_not_come_through(tmp_path: Path) -> None:
    told = probe(make_clip(tmp_path / "a.mp4", tags={"make": "Or\x1b[31mrin\n", "model": "M" * 900}))
    assert told.make == "Or [31mrin"
    assert len(told.model or "") == 60
