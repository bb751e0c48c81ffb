"""Broken things on the command line: a clear message, the right exit status, and nothing lost."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import EXAMPLE

TALK = """[0:02] Right, morning everyone, we are on the sands again.

[0:08] Oh, look at this. That's a clay pipe bowl, lovely.

[0:20] And here's a musket ball, that's lead.

[0:34] Hang on, what's this? It's a thimble, copper alloy.

[0:50] So today we've had a clay pipe bowl, a musket ball and a thimble. See you next time.
"""
LOG = "find,time,object\n1,10:00:10,clay pipe bowl\n2,10:00:22,musket ball\n3,10:00:36,thimble\n"


def episode(*args: object, **kwargs: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "episode", *map(str, args)]
    return subprocess.run(command, capture_output=True, text=True, timeout=300, **kwargs)


@pytest.fixture(scope="session")
def silent_clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A minute of test picture with no sound track, begun at 10:00 in London."""
    import imageio_ffmpeg

    target = tmp_path_factory.mktemp("media") / "A001.mp4"
    subprocess.run(
        [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-f", "lavfi", "-i", "testsrc=s=160x90:r=5:d=60"]
        + ["-metadata", "creation_time=2026-05-03T09:00:00Z", "-y", target],
        check=True,
    )
    return target


@pytest.fixture
def day(tmp_path: Path, silent_clip: Path, cache: Path) -> Path:
    """A small day that works: a clip with a transcript beside it, and a log."""
    folder = tmp_path / "2026-05-03-small"
    (folder / "footage").mkdir(parents=True)
    shutil.copy(silent_clip, folder / "footage")
    (folder / "footage" / "A001.txt").write_text(TALK)
    (folder / "finds.csv").write_text(LOG)
    (folder / "episode.toml").write_text('title = "Small"\ntime_zone = "Europe/London"\n')
    return folder


def finds(day: Path) -> set[str]:
    moments = json.loads((day / "out" / "moments.json").read_text())["moments"]
    return {moment["find"] for moment in moments if moment["find"]}


def test_the_small_day_works(day: Path):
    ran = episode("make", day)
    assert ran.returncode == 0, ran.stderr
    assert finds(day) == {"1", "2", "3"}
    assert "Written to" in ran.stderr
    assert ran.stdout == ""


def test_json_goes_to_standard_output_and_talk_does_not(day: Path):
    ran = episode("make", day, "--json")
    summary = json.loads(ran.stdout)
    assert summary["format"] == "episode.summary/1"
    assert summary["paired"] == 3


def test_strict_says_when_a_person_is_needed(day: Path):
    (day / "finds.csv").write_text(LOG + "4,10:00:55,copper nail\n")
    assert episode("make", day).returncode == 0
    assert episode("make", day, "--strict").returncode == 1
    assert episode("match", day, "--strict", "--json").returncode == 1
    assert episode("hear", day, "--strict", "--json").returncode == 0


def test_an_unknown_pack_is_refused_before_anything_is_heard(day: Path):
    ran = episode("make", day, "--packs", "nosuch")
    assert ran.returncode == 2
    assert "there is no pack named nosuch" in ran.stderr
    assert "hear" not in ran.stderr and not (day / "out" / "transcript.json").exists()


def test_an_empty_folder(tmp_path: Path):
    ran = episode("make", tmp_path)
    assert ran.returncode == 2
    assert "footage" in ran.stderr
    assert "Traceback" not in ran.stderr


def test_no_folder(tmp_path: Path):
    ran = episode("make", tmp_path / "nowhere")
    assert ran.returncode == 2
    assert "is not a folder" in ran.stderr


def test_a_wrong_option_is_2(tmp_path: Path):
    assert episode("make", tmp_path, "--nonsense").returncode == 2


@pytest.mark.parametrize("how", ["zero bytes", "truncated", "not media"])
def test_one_bad_clip_is_named_and_the_rest_is_kept(day: Path, silent_clip: Path, how: str):
    bad = day / "footage" / "B002.mp4"
    data = silent_clip.read_bytes()
    bad.write_bytes({"zero bytes": b"", "truncated": data[: len(data) // 2], "not media": b"hello" * 999}[how])
    ran = episode("make", day)
    assert ran.returncode == 3, ran.stderr
    assert "B002.mp4" in ran.stderr
    assert "Traceback" not in ran.stderr
    assert finds(day) == {"1", "2", "3"}


def test_a_clip_without_sound_is_said_and_harmless(day: Path, silent_clip: Path):
    shutil.copy(silent_clip, day / "footage" / "C003.mp4")
    ran = episode("make", day)
    assert ran.returncode == 0, ran.stderr
    assert "C003.mp4" in ran.stderr
    hearings = json.loads((day / "out" / "transcript.json").read_text())["clips"]
    assert {"clip": "C003.mp4", "how": "no sound"}.items() <= {k: v for k, v in hearings[-1].items() if v}.items()


def test_a_log_with_a_bad_date(day: Path):
    (day / "finds.csv").write_text(LOG.replace("10:00:22", "31/02/2026 10:00"))
    ran = episode("make", day)
    assert ran.returncode == 0
    assert "row 3, column time" in ran.stderr
    assert finds(day) == {"1", "2", "3"}


def test_an_unknown_vocabulary_column(day: Path, tmp_path: Path):
    own = tmp_path / "own.csv"
    own.write_text("term,kind,colour\nglass float,object,green\n")
    ran = episode("make", day, "--vocab", own)
    assert ran.returncode == 0, ran.stderr
    assert "colour" in ran.stderr
    assert "own.csv" in ran.stderr


def test_a_vocabulary_without_terms_is_2(day: Path, tmp_path: Path):
    own = tmp_path / "own.csv"
    own.write_text("name,colour\nglass float,green\n")
    ran = episode("make", day, "--vocab", own)
    assert ran.returncode == 2
    assert "own.csv" in ran.stderr
    assert "term" in ran.stderr


def test_read_only_footage_is_no_trouble(day: Path):
    for path in (day / "footage").iterdir():
        path.chmod(0o444)
    (day / "footage").chmod(0o555)
    try:
        ran = episode("make", day)
    finally:
        (day / "footage").chmod(0o755)
    assert ran.returncode == 0, ran.stderr


def test_a_folder_that_cannot_be_written_says_out(day: Path):
    (day / "out").write_text("in the way")
    ran = episode("make", day)
    assert ran.returncode == 3
    assert "--out" in ran.stderr
    assert (day / "out").read_text() == "in the way"


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="mounting a small tmpfs needs Linux and root")
def test_a_full_disk_leaves_whole_files_only(day: Path, tmp_path: Path):
    small = tmp_path / "small"
    small.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=24k", "tmpfs", str(small)], capture_output=True)
    if mounted.returncode:
        pytest.skip("a tmpfs cannot be mounted here")
    try:
        ran = episode("make", day, "--out", small / "out")
        assert ran.returncode == 3, ran.stderr
        assert "nothing was changed" in ran.stderr
        assert "Traceback" not in ran.stderr
        for path in (small / "out").rglob("*.json"):
            json.loads(path.read_text())
        assert not list((small / "out").rglob(".part-*"))
    finally:
        subprocess.run(["umount", str(small)], check=True)
    assert episode("make", day).returncode == 0


def test_two_runs_at_once(day: Path):
    from episode.day.lock import holding

    with holding(day / "out"):
        ran = episode("make", day)
    assert ran.returncode == 2
    assert "another run is at work" in ran.stderr


def test_hostile_names_and_words_stay_text(day: Path):
    nasty = day / "footage" / '-i "x"\n<script>alert(1)</script>.mp4'.replace("/", "_")
    shutil.copy(day / "footage" / "A001.mp4", nasty)
    (day / "footage" / (nasty.stem + ".txt")).write_text("[0:01] <img src=x onerror=alert(1)> a thimble, look.\n")
    (day / "finds.csv").write_text('find,time,object\n=1+1,10:00:36,"=HYPERLINK(""x"")"\n')
    ran = episode("make", day)
    assert ran.returncode == 0, ran.stderr
    page = (day / "out" / "review.html").read_text()
    assert "<script>alert" not in page
    assert "<img src=x" not in page
    for line in (day / "out" / "claims.csv").read_text().splitlines():
        assert not line.startswith(("=", "+", "@"))


def test_new_then_make_says_where_clips_go(tmp_path: Path):
    day = tmp_path / "2026-05-03-new-day"
    assert episode("new", day, "--place", "Skelby Sands").returncode == 0
    text = (day / "episode.toml").read_text()
    assert 'place = "Skelby Sands"' in text
    assert "date = 2026-05-03" in text
    assert episode("new", day).returncode == 0
    assert (day / "episode.toml").read_text() == text
    ran = episode("make", day)
    assert ran.returncode == 2
    assert "footage" in ran.stderr


def test_without_settings_it_says_what_it_assumed(day: Path):
    (day / "episode.toml").unlink()
    ran = episode("make", day)
    assert ran.returncode == 0, ran.stderr
    assert "assumed" in ran.stderr


def test_the_example_is_not_littered():
    assert not [
        path for path in EXAMPLE.rglob("*") if path.is_file() and "out" not in path.parts and not path.stat().st_size
    ]
