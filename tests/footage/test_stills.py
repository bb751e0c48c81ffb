from __future__ import annotations

import subprocess
import time
from pathlib import Path

import av
import numpy as np
import pytest

from episode.errors import CannotWrite, UnusableMedia
from episode.footage.probe import probe
from episode.footage.running import run
from episode.footage.sizes import has_frames
from episode.footage.stills import still, stills
from episode.footage.tools import ffmpeg
from tests.footage.conftest import TONE, VIDEO, as_clip, run_ffmpeg


@pytest.fixture(scope="module")
def grey(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four seconds at 25 frames a second, each 2 levels brighter than the one before, from 16 on; sound for six."""
    path = tmp_path_factory.mktemp("grey") / "grey.mp4"
    run_ffmpeg(
        "-f", "lavfi", "-i", "color=size=320x180:rate=25:duration=4,format=gray,geq=lum='16+2*N',format=yuv420p",
        "-f", "lavfi", "-i", "sine=duration=6", *VIDEO, "-g", "20", str(path),
    )  # fmt: skip
    return path


def picture(path: Path) -> np.ndarray:
    with av.open(str(path)) as container:
        return next(container.decode(video=0)).to_ndarray(format="rgb24")


def frame_number(path: Path) -> float:
    return float((picture(path).mean() - 16) / 2)


@pytest.mark.parametrize(
    ("at", "frame"), [(0, 0), (1.0, 25), (1.01, 26), (2.5, 62.5), (3.96, 99), (4.5, 99), (6, 99), (99, 99)]
)
def test_it_is_the_frame_at_or_just_after(tmp_path: Path, grey: Path, at: float, frame: float) -> None:
    target = tmp_path / "out" / "still.jpg"
    assert still(as_clip(grey), at, target) is True
    assert frame_number(target) == pytest.approx(frame, abs=1)


def test_width_without_enlarging_and_no_metadata(tmp_path: Path, grey: Path) -> None:
    small, large = tmp_path / "small.jpg", tmp_path / "large.jpg"
    still(as_clip(grey), 1, small, width=160)
    still(as_clip(grey), 1, large, width=640)
    assert picture(small).shape == (90, 160, 3)
    assert picture(large).shape == (180, 320, 3)
    data = small.read_bytes()
    assert data[:2] == b"\xff\xd8"
    assert b"Exif" not in data
    assert b"Lavc" not in data
    assert b"\xff\xfe" not in data[:200]  # no comment segment
    again = tmp_path / "again.jpg"
    still(as_clip(grey), 1, again, width=160)
    assert again.read_bytes() == data


@pytest.mark.parametrize(("size", "taken"), [("7680x4320", True), ("8192x4360", False)])
def test_the_largest_pictures_that_cameras_write(tmp_path: Path, size: str, taken: bool) -> None:
    path, target = tmp_path / "large.mov", tmp_path / "still.jpg"
    run_ffmpeg("-f", "lavfi", "-i", f"color=size={size}:rate=1:duration=1", "-c:v", "mjpeg", str(path))
    told = probe(path)
    assert f"{told.width}x{told.height}" == size
    clip = as_clip(path).model_copy(update={"width": told.width, "height": told.height})
    assert has_frames(clip) == taken
    if taken:
        assert still(clip, 0, target, width=64)
        assert picture(target).shape == (36, 64, 3)
    else:
        assert not still(clip, 0, target)
        with pytest.raises(UnusableMedia):  # nor does FFmpeg where nobody knew the size
            still(as_clip(path), 0, target)


def test_turned_upright(tmp_path: Path, plain_clip: Path) -> None:
    turned = tmp_path / "turned.mp4"
    run_ffmpeg("-display_rotation", "90", "-i", str(plain_clip), "-c", "copy", str(turned))
    upright, flat = tmp_path / "u.jpg", tmp_path / "f.jpg"
    still(as_clip(turned), 1, upright)
    still(as_clip(plain_clip), 1, flat)
    assert picture(upright).shape == (320, 240, 3)
    # a display matrix of 90 degrees turns the picture counter-clockwise (libavutil/display.h)
    assert np.abs(np.rot90(picture(flat)).astype(int) - picture(upright)).mean() < 8


def test_pixels_that_are_not_square(tmp_path: Path) -> None:
    wide = tmp_path / "wide.mp4"
    run_ffmpeg("-f", "lavfi", "-i", "testsrc=size=320x240:duration=1,setsar=4/3", *VIDEO, str(wide))
    still(as_clip(wide), 0, tmp_path / "w.jpg", width=426)
    height, width, _ = picture(tmp_path / "w.jpg").shape
    assert width / height == pytest.approx(16 / 9, abs=0.02)


def test_sound_alone_has_no_still(tmp_path: Path) -> None:
    sound = tmp_path / "sound.wav"
    run_ffmpeg(*TONE, str(sound))
    assert still(as_clip(sound), 1, tmp_path / "s.jpg") is False
    assert not (tmp_path / "s.jpg").exists()


def test_failure_leaves_the_old_still(tmp_path: Path, grey: Path) -> None:
    target = tmp_path / "still.jpg"
    target.write_bytes(b"old")
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(grey.read_bytes()[:4000])
    clip = as_clip(grey).model_copy(update={"path": broken, "name": "broken.mp4"})
    with pytest.raises(UnusableMedia, match="no picture") as caught:
        still(clip, 1, target)
    assert caught.value.where == "broken.mp4 at 0:01"
    assert target.read_bytes() == b"old"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["broken.mp4", "still.jpg"]


def test_a_folder_that_cannot_be_written(tmp_path: Path, grey: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(CannotWrite):
        still(as_clip(grey), 1, tmp_path / "file" / "still.jpg")


def test_odd_target_names(tmp_path: Path, grey: Path) -> None:
    target = tmp_path / "%03d -x 'q'" / "moment #1 %d.jpg"
    assert still(as_clip(grey), 1, target)
    assert frame_number(target) == pytest.approx(25, abs=1)


def test_many_together_are_the_same_as_one_by_one(tmp_path: Path, grey: Path, plain_clip: Path) -> None:
    for clip in (as_clip(grey), as_clip(plain_clip)):
        asked = [(at, tmp_path / f"{clip.name} {at}.jpg") for at in (1.0, 0.0, 1.37, 1.9)]
        assert stills(clip, asked, width=200) == [None] * 4
        for at, target in asked:
            still(clip, at, tmp_path / "alone.jpg", width=200)
            assert target.read_bytes() == (tmp_path / "alone.jpg").read_bytes()


def test_among_many_each_fails_alone(tmp_path: Path, grey: Path) -> None:
    old = tmp_path / "old.jpg"
    old.write_bytes(b"old")
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(grey.read_bytes()[:4000])
    clip = as_clip(grey).model_copy(update={"path": broken, "name": "broken.mp4"})
    failed = stills(clip, [(1.0, old), (99.0, old)])
    assert [str(error).partition(" (")[0] for error in failed] == [
        "broken.mp4 at 0:01: no picture could be decoded",
        "broken.mp4 at 1:39: no picture could be decoded",
    ]
    assert old.read_bytes() == b"old"
    last = tmp_path / "last.jpg"
    assert stills(as_clip(grey), [(1.0, tmp_path / "first.jpg"), (99.0, last)]) == [None, None]
    assert frame_number(last) == pytest.approx(99, abs=1)


def test_ffmpeg_ends_when_nobody_waits_any_more_or_it_takes_too_long() -> None:
    asked: list[float] = []

    def wanted() -> None:
        asked.append(time.monotonic())
        if len(asked) > 2:
            raise InterruptedError

    endless = [str(ffmpeg().path), "-v", "error", "-nostdin", "-re", "-f", "lavfi", "-i", "color", "-f", "null", "-"]
    with pytest.raises(InterruptedError):
        run(endless, seconds=600, wanted=wanted)
    assert len(asked) == 3
    with pytest.raises(subprocess.TimeoutExpired):
        run(endless, seconds=0.1)
