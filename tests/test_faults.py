"""The quick part of the fault campaign (``python -m tests.campaign.faults``): the same faults on a day without hearing."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from episode.errors import CannotWrite
from episode.make import Options, make, worked
from episode.progress import Quiet
from episode.scratch import PART, scratch
from episode.writing import Made, Step, write
from tests.campaign.disk import full_at_every_decision
from tests.campaign.stage import litter, persons, results
from tests.campaign.struck import Strike

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="faults are put in by Linux's means")

TALK = """[0:02] Morning everyone, on the sands again.

[0:04] Oh, look at this. That's a clay pipe bowl, lovely.

[0:09] And here's a musket ball, that's lead.
"""
TERMS = "term,kind,material\nclay pipe bowl,object,clay\nmusket ball,object,lead\n"
OLD, NEW = "find,time,object\n1,10:00:05,clay pipe bowl\n", "find,time,object\n2,10:00:10,musket ball\n"
EVERY = 23
"""Of the calls that write, every so many are tried here; the campaign's whole runs try others."""


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory, cache: Path) -> Path:
    """A small day with a picture, a transcript and a log."""
    import imageio_ffmpeg

    folder = tmp_path_factory.mktemp("faults") / "2026-05-03-small"
    (folder / "footage").mkdir(parents=True)
    subprocess.run(
        [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-f", "lavfi", "-i", "testsrc=s=160x90:r=5:d=15"]
        + ["-metadata", "creation_time=2026-05-03T09:00:00Z", "-y", folder / "footage" / "A001.mp4"],
        check=True,
    )
    (folder / "footage" / "A001.txt").write_text(TALK)
    (folder / "terms.csv").write_text(TERMS)
    settings = 'title = "Small"\ntime_zone = "Europe/London"\npacks = []\nvocabulary = ["terms.csv"]\n'
    (folder / "episode.toml").write_text(settings)
    (folder / "finds.csv").write_text(NEW)
    return folder


@pytest.fixture(scope="module")
def both(day: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str], Made, dict[str, str]]:
    """A folder of old results, what they are, a run that would write others there, and what those are."""
    out = tmp_path_factory.mktemp("results") / "out"
    found = []
    for log in (OLD, NEW):
        (day / "finds.csv").write_text(log)
        made = worked(day, out, Options(), Step.DRAFT, Quiet()).made
        write(made, Quiet())
        found.append((results(out), made))
        if log == OLD:
            shutil.copytree(out, out.parent / "old")
    shutil.rmtree(out)
    return out.parent / "old", found[0][0], found[1][1], found[1][0]


def put_back(made: Made, old: Path) -> None:
    shutil.rmtree(made.out, ignore_errors=True)
    shutil.copytree(old, made.out)


def calls(made: Made, old: Path) -> list[str]:
    put_back(made, old)
    strike = Strike(made.out, "kill", 0)
    with strike.struck():
        write(made, Quiet())
    return strike.calls


def whole(out: Path, old: dict[str, str], new: dict[str, str]) -> None:
    """Every file is the old one or the new one, and none is missing that both have."""
    now = results(out)
    assert [name for name in now if now[name] not in (old.get(name), new.get(name))] == []
    assert [name for name in old if name in new and name not in now] == []


@pytest.mark.parametrize("how", ["once", "from"])
def test_a_disk_full_at_any_call_is_said_and_leaves_whole_files(both, how: str):
    old_files, old, made, new = both
    assert old != new
    for call in range(1, len(calls(made, old_files)) + 1, EVERY):
        put_back(made, old_files)
        strike = Strike(made.out, how, call)
        if strike_misses(made, strike):
            continue
        whole(made.out, old, new)
        assert not litter(made.out)
    write(made, Quiet())
    assert results(made.out) == new


def strike_misses(made: Made, strike: Strike) -> bool:
    """Write on the failing disk; True where a full disk does not hinder that call."""
    try:
        with strike.struck():
            write(made, Quiet())
    except CannotWrite as error:
        assert "No space left" in error.what
        assert str(made.out) in error.where
        assert "Free" in error.remedy
        return False
    return len(strike.calls) < strike.call


def test_a_kill_at_any_rename_leaves_whole_files_and_the_next_run_puts_all_right(both):
    from episode.day.lock import holding

    old_files, old, made, new = both
    renames = [number for number, call in enumerate(calls(made, old_files), start=1) if call.startswith("replace ")]
    assert len(renames) > 20
    for call in renames[:: len(renames) // 6]:
        put_back(made, old_files)
        child = os.fork()
        if not child:
            os.setsid()
            Strike(made.out, "kill", call).put()
            write(made, Quiet())
            os._exit(0)
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
        left = litter(made.out)
        assert len(left) == 1
        for path in left:
            Path(path).unlink()
        whole(made.out, old, new)
    (made.out / "captions" / f"{PART}left.vtt").write_text("half")
    with holding(made.out):
        write(made, Quiet())
    assert results(made.out) == new


@pytest.mark.parametrize("how", ["once", "from"])
def test_a_decision_on_a_full_disk_is_there_once_or_not_at_all(tmp_path: Path, how: str):
    assert list(full_at_every_decision(tmp_path / "day", how)) == []


def test_a_day_that_was_moved_gives_the_same_and_takes_no_still_again(day: Path, tmp_path: Path):
    shutil.copytree(day, tmp_path / "one" / day.name)
    first, second = tmp_path / "one" / day.name, tmp_path / "two" / day.name
    second.parent.mkdir()
    make(first)
    before, out = persons(first), results(first / "out")
    stills = {path.name: path.stat().st_ino for path in (first / "out" / "stills").iterdir()}
    assert stills
    first.rename(second)
    make(second)
    assert persons(second) == before
    assert {path.name: path.stat().st_ino for path in (second / "out" / "stills").iterdir()} == stills
    assert results(second / "out") == out


def test_other_footage_of_the_same_name_size_and_time_gets_its_own_stills(day: Path, tmp_path: Path):
    import imageio_ffmpeg

    place, other = tmp_path / day.name, tmp_path / "other.mp4"
    shutil.copytree(day, place)
    clip = place / "footage" / "A001.mp4"
    make(place)
    before = stills_of(place)
    subprocess.run(
        [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-f", "lavfi", "-i", "color=red:s=160x90:r=5:d=15"]
        + ["-metadata", "creation_time=2026-05-03T09:00:00Z", "-y", other],
        check=True,
    )
    told = clip.stat()
    clip.write_bytes(other.read_bytes().ljust(told.st_size, b"\0"))
    os.utime(clip, ns=(told.st_atime_ns, told.st_mtime_ns))
    assert clip.stat().st_size == told.st_size
    make(place)
    assert before
    assert stills_of(place)
    assert not before & stills_of(place)


def stills_of(day: Path) -> set[bytes]:
    return {path.read_bytes() for path in (day / "out" / "stills").glob("*.jpg")}


def test_footage_that_goes_after_it_was_read_is_said(day: Path, tmp_path: Path):
    place = tmp_path / day.name
    shutil.copytree(day, place)
    made = worked(place, place / "out", Options(), Step.DRAFT, Quiet()).made
    (place / "footage" / "A001.mp4").unlink()
    made = write(made, Quiet())
    assert any(p.where == "A001.mp4" and "cannot be read" in p.what for p in made.result.problems)
    assert json.loads((place / "out" / "moments.json").read_text())["moments"]


def test_temporary_files_of_a_killed_run_go_with_the_next(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    import tempfile

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    child = os.fork()
    if not child:
        with scratch() as folder:
            (folder / "sound").write_bytes(b"much")
            os.kill(os.getpid(), signal.SIGKILL)
    os.waitpid(child, 0)
    assert len(list(tmp_path.iterdir())) == 1
    with scratch() as one, scratch() as two:
        assert sorted(tmp_path.iterdir()) == sorted([one, two])
    assert list(tmp_path.iterdir()) == []


def test_the_desk_writes_what_make_writes(day: Path, tmp_path: Path):
    from episode.make import concluded
    from episode.showing import with_known_stills

    place = tmp_path / day.name
    shutil.copytree(day, place, ignore=shutil.ignore_patterns("out"))
    done = worked(place, place / "out", Options(), Step.DRAFT, Quiet())
    write(done.made, Quiet())
    out = results(place / "out")
    shown = with_known_stills(concluded(done.spotted, (), ()).result, place / "out")
    assert shown.stills
    again = write(Made(shown, done.made.mentions, done.made.out, Step.DRAFT), Quiet())
    write(again, Quiet())
    assert results(place / "out") == out


def test_captions_of_a_clip_that_is_gone_go_too(day: Path, tmp_path: Path):
    place = tmp_path / day.name
    shutil.copytree(day, place, ignore=shutil.ignore_patterns("out"))
    shutil.copy2(place / "footage" / "A001.txt", place / "footage" / "B001.txt")
    make(place)
    assert (place / "out" / "captions" / "B001.txt.srt").exists()
    (place / "footage" / "B001.txt").unlink()
    make(place)
    assert sorted(p.name for p in (place / "out" / "captions").iterdir()) == ["A001.mp4.srt", "A001.mp4.vtt"]
