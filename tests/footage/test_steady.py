from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pytest

from episode.errors import CannotWrite
from episode.footage import steady
from episode.footage.steady import steadiest
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


def test_a_sharp_keyframe_is_chosen_where_there_are_enough(often: Path) -> None:
    assert steadiest(as_clip(often), [(3.3, 9.0), (4.4, 9.0)]) in ([5.0, 5.0], [6.0, 6.0])


def test_where_keyframes_are_few_any_sharp_frame_is(seldom: Path, tmp_path: Path) -> None:
    (at,) = steadiest(as_clip(seldom), [(3.3, 9.0)])
    assert at is not None
    assert 4.9 <= at <= 6.5


def test_no_frame_after_the_moment_is_chosen_unless_within_a_second(often: Path, seldom: Path) -> None:
    for path in (often, seldom):
        early, late = steadiest(as_clip(path), [(3.3, 4.5), (3.3, 1.0)])
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
        (at,) = steadiest(one, [(named, 6.0)])
        assert at is not None
        frame = at * (np.divide(*map(float, rate.split("/"))) if "/" in rate else float(rate))
        assert frame == pytest.approx(round(frame), abs=1e-3)
        assert round(frame) % 22 == 0
        still(one, at, tmp_path / "still.jpg")
        assert looked[-1] == pytest.approx(round(frame) % 100, abs=0.6)
        assert frame_number(tmp_path / "still.jpg") == pytest.approx(round(frame) % 100, abs=0.6)


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
