from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pytest

from episode.errors import CannotWrite
from episode.footage import steady
from episode.footage.probe import probe
from episode.footage.steady import Steadiest, steadiest
from episode.footage.stills import still
from tests.footage.conftest import as_clip, run_ffmpeg
from tests.footage.test_stills import frame_number

BLURRED = (
    "testsrc2=size=520x180:rate=25:duration=0.04,loop=loop=-1:size=1,setpts=N/25/TB,trim=duration=10,"
    "crop=320:180:x='if(between(t,{begin},{end}),90,90+80*sin(9*t))',"
    "gblur=sigma=3:enable='not(between(t,{begin},{end}))'"
)


def clip(folder: Path, name: str, *, begin: float, end: float, every: int) -> Path:
    """Ten seconds that are sharp and still only between ``begin`` and ``end``, with a keyframe in ``every`` frames."""
    run_ffmpeg(
        "-f", "lavfi", "-i", BLURRED.format(begin=begin, end=end), "-c:v", "libx264", "-pix_fmt", "yuv420p",
        "-bf", "2", "-g", str(every), "-keyint_min", str(every), "-sc_threshold", "0", str(folder / name),
    )  # fmt: skip
    return folder / name


@pytest.fixture(scope="module")
def often(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return clip(tmp_path_factory.mktemp("steady"), "often.mp4", begin=4.9, end=6.5, every=25)


@pytest.fixture(scope="module")
def seldom(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return clip(tmp_path_factory.mktemp("steady"), "seldom.mp4", begin=4.9, end=6.5, every=250)


def seconds(found: list[Steadiest | None]) -> list[float | None]:
    return [one.at if one else None for one in found]


def test_a_sharp_keyframe_is_chosen_where_there_are_enough(often: Path) -> None:
    assert seconds(steadiest(as_clip(often), [(3.3, 9.0), (4.4, 9.0)])) in ([5.0, 5.0], [6.0, 6.0])


def test_where_keyframes_are_few_any_sharp_frame_is(seldom: Path, tmp_path: Path) -> None:
    (at,) = seconds(steadiest(as_clip(seldom), [(3.3, 9.0)]))
    assert at is not None
    assert 4.9 <= at <= 6.5


def test_no_frame_after_the_moment_is_chosen_unless_within_a_second(often: Path, seldom: Path) -> None:
    for path in (often, seldom):
        early, late = seconds(steadiest(as_clip(path), [(3.3, 4.5), (3.3, 1.0)]))
        assert early is not None
        assert early <= 4.5
        assert late is not None
        assert late <= 4.3


@pytest.mark.parametrize("rate", ["25", "30000/1001", "60000/1001", "120"])
def test_the_second_names_the_very_frame_that_was_chosen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, rate: str
) -> None:
    """A still taken at it shows that keyframe, though keyframes fall between the milliseconds."""
    run_ffmpeg(
        "-f", "lavfi", "-i", f"color=size=64x64:rate={rate}:duration=6,format=gray,geq=lum='16+mod(N\\,100)*2',format=yuv420p",
        "-c:v", "libx264", "-qp", "10", "-bf", "2", "-g", "22", "-keyint_min", "22", "-sc_threshold", "0",
        str(tmp_path / "grey.mp4"),
    )  # fmt: skip
    looked: list[float] = []

    def last(frames: np.ndarray) -> int:
        looked.append((float(frames[-1].mean()) - 16) / 2)
        return len(frames) - 1

    monkeypatch.setattr(steady, "choose", last)
    one = as_clip(tmp_path / "grey.mp4")
    for named in (0.0, 1.2345, 2.2):
        (at,) = seconds(steadiest(one, [(named, 6.0)]))
        assert at is not None
        frame = at * (np.divide(*map(float, rate.split("/"))) if "/" in rate else float(rate))
        assert frame == pytest.approx(round(frame), abs=1e-3)
        assert round(frame) % 22 == 0
        still(one, at, tmp_path / "still.jpg")
        assert looked[-1] == pytest.approx(round(frame) % 100, abs=0.6)
        assert frame_number(tmp_path / "still.jpg") == pytest.approx(round(frame) % 100, abs=0.6)


H264 = ["-c:v", "libx264", "-preset", "veryfast", "-crf", "38", "-bf", "2", "-g", "22", "-keyint_min", "22"]
H264 += ["-sc_threshold", "0"]
H265 = ["-c:v", "libx265", "-preset", "ultrafast", "-crf", "36"]
GROUPS = "log-level=none:keyint=22:min-keyint=22:scenecut=0:bframes=3:open-gop="
RECORDED = {
    "h264.mp4": ("25", H264),
    "ntsc.mp4": ("30000/1001", H264),
    "fast.mov": ("120", [*H264, "-video_track_timescale", "600"]),
    "late.ts": ("25", [*H264, "-output_ts_offset", "7.77"]),
    "late.mp4": ("25", [*H264, "-output_ts_offset", "0.333"]),
    "every half second.mp4": ("24", [*H264, "-g", "12", "-keyint_min", "12"]),
    "h265.mp4": ("50", [*H265, "-x265-params", GROUPS + "0"]),
    "open h265.mov": ("30000/1001", [*H265, "-pix_fmt", "yuv420p10le", "-x265-params", GROUPS + "1"]),
    "full range.mov": ("25", ["-vf", "scale=out_range=full,format=yuv420p", *H264, "-color_range", "pc"]),
    "chroma.mkv": ("25", ["-vf", "format=yuv422p", *H264]),
    "not square.mp4": ("25", ["-vf", "setsar=4/3", *H264]),
    "odd.mov": ("25", ["-vf", "scale=405:227", "-c:v", "mjpeg", "-q:v", "9"]),
    "mpeg2.mpg": ("25", ["-c:v", "mpeg2video", "-bf", "2", "-g", "22", "-q:v", "14"]),
    "prores.mov": ("25", ["-c:v", "prores_ks"]),
}
LEFT_ALONE = {
    "vp9.webm": ("25", ["-c:v", "libvpx-vp9", "-cpu-used", "8", "-deadline", "realtime", "-g", "22", "-b:v", "300k"]),
    "mpeg4.avi": ("25", ["-c:v", "mpeg4", "-bf", "2", "-g", "22", "-q:v", "14"]),
    "open groups.mkv": ("60000/1001", [*H264, "-x264opts", "open-gop=1"]),
    "interlaced.mts": ("25", [*H264, "-flags", "+ilme+ildct", "-x264opts", "tff=1", "-f", "mpegts"]),
    "refreshed.mp4": ("25", [*H264, "-x264opts", "intra-refresh=1:keyint=22"]),
    "between tenths.mp4": ("25", [*H264, "-video_track_timescale", "11985"]),
    "between microseconds.mp4": ("30000/1001", [*H264, "-video_track_timescale", "7000030"]),
}


def recorded(target: Path, rate: str, options: list[str]) -> Path:
    source = f"testsrc2=size=480x272:rate={rate}:duration=7,noise=alls=12:allf=t"
    run_ffmpeg("-f", "lavfi", "-i", source, "-pix_fmt", "yuv420p", *options, str(target))
    return target


def came_along(path: Path, folder: Path, monkeypatch: pytest.MonkeyPatch) -> list[bytes | None]:
    """The pictures of keyframes all over the clip; those that are given are what a still of their second is."""
    given: list[bytes | None] = []
    one = as_clip(path)
    for place in (0, 1, -1):
        monkeypatch.setattr(steady, "choose", lambda frames, place=place: min(place, len(frames) - 1) % len(frames))
        for best in steadiest(one, [(0.0, 7.0), (1.2345, 6.0), (2.2, 7.0), (5.5, 7.0)], width=320):
            assert best is not None
            still(one, best.at, folder / "still.jpg", width=320)
            given.append(best.picture)
            assert best.picture in (None, (folder / "still.jpg").read_bytes()), best.at
    return given


@pytest.mark.parametrize("name", RECORDED)
def test_the_picture_that_comes_along_is_the_still(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    given = came_along(recorded(tmp_path / name, *RECORDED[name]), tmp_path, monkeypatch)
    assert None not in given
    assert len(set(given)) > 3


def test_so_it_is_for_a_clip_that_is_to_be_turned(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    flat, turned = recorded(tmp_path / "flat.mp4", *RECORDED["ntsc.mp4"]), tmp_path / "turned.mp4"
    run_ffmpeg("-display_rotation", "90", "-i", str(flat), "-c", "copy", str(turned))
    assert probe(turned).rotation == 270
    assert None not in came_along(turned, tmp_path, monkeypatch)


@pytest.mark.parametrize("name", LEFT_ALONE)
def test_no_picture_comes_along_where_it_might_be_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    assert None in came_along(recorded(tmp_path / name, *LEFT_ALONE[name]), tmp_path, monkeypatch)


def test_no_picture_of_damaged_keyframes_comes_along(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = recorded(tmp_path / "damaged.mp4", *RECORDED["h264.mp4"])
    data = bytearray(path.read_bytes())
    for place in range(len(data) // 8, len(data) * 7 // 8, 700):
        data[place : place + 9] = b"\x5a" * 9
    path.write_bytes(data)
    assert None in came_along(path, tmp_path, monkeypatch)


def test_together_or_alone_the_same_is_found(often: Path, seldom: Path) -> None:
    asked = [(0.0, 0.5), (3.3, 9.0), (3.31, 4.6), (3.3, 9.0), (8.9, 10.0), (30.0, 31.0)]
    for path in (often, seldom):
        together = steadiest(as_clip(path), asked)
        assert together == [steadiest(as_clip(path), [one])[0] for one in asked]
        assert None not in together[:5]
        assert together[5] is None


def test_a_clip_that_cannot_be_read_gives_no_second(often: Path, tmp_path: Path) -> None:
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(often.read_bytes()[:4000])
    whole = as_clip(often)
    assert steadiest(whole.model_copy(update={"path": broken}), [(1.0, 5.0), (2.0, 6.0)]) == [None, None]
    assert steadiest(whole.model_copy(update={"has_video": False}), [(1.0, 5.0)]) == [None]


def test_where_there_is_no_room_for_temporary_files_it_is_said(
    often: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "gone"))
    with pytest.raises(CannotWrite) as caught:
        steadiest(as_clip(often), [(3.3, 9.0)])
    assert caught.value.where == str(tmp_path / "gone")
