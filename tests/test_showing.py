"""Stills of a day: taken by several hands, each once, and the same however many hands there are."""

from __future__ import annotations

import subprocess
from datetime import UTC, datetime
from pathlib import Path

import imageio_ffmpeg
import pytest

from episode import showing
from episode.drafting.result import DayResult
from episode.errors import CannotWrite
from episode.footage import steady, stills
from episode.models import Clip, Matched, Moment, Settings, Stance, StartFrom
from episode.progress import Quiet
from episode.showing import with_stills


@pytest.fixture(scope="module")
def footage(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three clips of twelve seconds with a keyframe a second, and one that breaks off at once."""
    folder = tmp_path_factory.mktemp("footage")
    for name, picture in (("a", "testsrc2"), ("b", "testsrc"), ("c", "mandelbrot")):
        subprocess.run(
            [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-f", "lavfi", "-i", f"{picture}=s=320x180:r=10"]
            + ["-t", "12", "-c:v", "libx264", "-pix_fmt", "yuv420p", "-g", "10", folder / f"{name}.mp4"],
            check=True,
        )
    (folder / "broken.mp4").write_bytes((folder / "a.mp4").read_bytes()[:3000])
    return folder


def day(footage: Path, *names: str) -> DayResult:
    clips = tuple(
        Clip(
            name=f"{name}.mp4", path=footage / f"{name}.mp4", duration=12, start=datetime(2026, 5, 3, 9, tzinfo=UTC),
            start_from=StartFrom.CREATION, camera="camera", width=320, height=180, has_video=True,
        )
        for name in names
    )  # fmt: skip
    moments = tuple(
        Moment(
            id=f"{clip.name}-{at}", clip=clip.name, start=at - 0.5, end=at + 4, at=clip.start, term=None,
            stance=Stance.FOUND, title="thing", still_at=at,
        )
        for clip in clips
        for at in (1.0, 2.3, 4.0, 5.5, 7.0)
    )  # fmt: skip
    return DayResult(settings=Settings(), clips=clips, matched=Matched(moments=moments))


def files(out: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (out / "stills").iterdir()}


def places(out: Path) -> dict[str, int]:
    return {path.name: path.stat().st_ino for path in (out / "stills").glob("*.jpg")}


def begun(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The commands that are run from now on."""
    commands: list[str] = []
    run = steady.run
    for room in (steady, stills):
        monkeypatch.setattr(
            room, "run", lambda command, **k: (commands.append(" ".join(command)), run(command, **k))[1]
        )
    return commands


def test_any_number_of_hands_and_of_pictures_at_once_gives_the_same(
    footage: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    found = []
    for hands, at_once in ((1, 1), (4, 8), (3, 2)):
        monkeypatch.setattr(showing, "processors", lambda hands=hands: hands)
        monkeypatch.setattr(showing, "MOST_AT_ONCE", at_once)
        out = tmp_path / f"{hands}"
        shown = with_stills(day(footage, "a", "b", "c", "broken"), out, Quiet())
        found.append((shown, files(out)))
    assert found[0] == found[1] == found[2]
    assert len(found[0][0].stills) == 15
    assert {problem.where.partition(" ")[0] for problem in found[0][0].problems} == {"broken.mp4"}
    assert len(found[0][0].problems) == 5


def test_what_is_there_is_not_shown_again(footage: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    first = with_stills(day(footage, "a", "b"), tmp_path, Quiet())
    before, seconds = places(tmp_path), files(tmp_path)
    commands = begun(monkeypatch)
    assert with_stills(day(footage, "a", "b"), tmp_path, Quiet()) == first
    assert commands == []
    with_stills(day(footage, "a", "b", "c"), tmp_path, Quiet())
    assert commands
    assert all("/c.mp4" in command and "/a.mp4" not in command for command in commands)
    assert places(tmp_path).items() >= before.items()
    commands.clear()
    lost = first.stills["a.mp4-4.0"]
    (tmp_path / lost).unlink()
    assert with_stills(day(footage, "a", "b"), tmp_path, Quiet()) == first
    assert len(commands) == 1
    assert files(tmp_path).items() >= seconds.items() - {("chosen.json", seconds["chosen.json"])}


def test_of_large_pictures_the_still_comes_along_with_the_second(
    footage: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(showing, "SMALL_PIXELS", 0)
    commands = begun(monkeypatch)
    shown = with_stills(day(footage, "a"), tmp_path, Quiet())
    assert len(commands) == 1
    for moment in shown.moments:
        stills.still(shown.clips[0], moment.still_at, tmp_path / "alone.jpg", width=showing.STILL_WIDTH)
        assert (tmp_path / moment.still).read_bytes() == (tmp_path / "alone.jpg").read_bytes()
    assert len(shown.stills) == 5


def test_seconds_found_before_by_another_method_are_looked_for_again(footage: Path, tmp_path: Path):
    told = with_stills(day(footage, "a"), tmp_path / "new", Quiet())
    (tmp_path / "old" / "stills").mkdir(parents=True)
    (tmp_path / "old" / "stills" / "chosen.json").write_text('{"0123456789abcdef": 3.0}')
    assert with_stills(day(footage, "a"), tmp_path / "old", Quiet()) == told
    assert files(tmp_path / "old") == files(tmp_path / "new")


def test_a_still_that_a_person_chose_is_taken_where_they_said(footage: Path, tmp_path: Path):
    plain = day(footage, "a")
    moments = tuple(m.model_copy(update={"decided": ("still",), "still_at": 3.14}) for m in plain.moments[:1])
    chosen = plain.model_copy(update={"matched": Matched(moments=moments)})
    shown = with_stills(chosen, tmp_path, Quiet())
    assert [moment.still_at for moment in shown.moments] == [3.14]
    stills.still(plain.clips[0], 3.14, tmp_path / "alone.jpg", width=showing.STILL_WIDTH)
    assert (tmp_path / shown.moments[0].still).read_bytes() == (tmp_path / "alone.jpg").read_bytes()


def test_a_folder_that_cannot_be_written_ends_it(footage: Path, tmp_path: Path):
    (tmp_path / "stills").write_text("")
    with pytest.raises(CannotWrite):
        with_stills(day(footage, "a", "b", "c"), tmp_path, Quiet())
