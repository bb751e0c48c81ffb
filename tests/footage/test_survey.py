from __future__ import annotations

import os
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from episode.errors import UnusableInput
from episode.footage.survey import survey
from episode.models import Settings, StartFrom
from tests.footage.conftest import MODIFIED, make_clip

LONDON = ZoneInfo("Europe/London")
SRT = "1\n00:00:01,000 --> 00:00:04,500\nThis is a wig curler.\n\n2\n00:01:00,000 --> 00:01:02,250\nAnd a pipe bowl.\n"


def write(path: Path, text: str, modified: float = MODIFIED) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    os.utime(path, (modified, modified))
    return path


def test_a_day_in_order(day: Callable[..., Path], london: Settings) -> None:
    folder = day("b/clip two.mp4", "a.mp4", ".hidden.mp4", "._a.mp4", "a.thm", "a.LRV", "a.xml", "notes.jpg")
    write(folder / "footage" / "readme.txt", "Battery two is flat.\n")
    clips, problems = survey(folder, london)
    assert [c.name for c in clips] == ["a.mp4", "b/clip two.mp4"]
    assert problems == ()
    first = clips[0]
    assert first.start == datetime(2026, 5, 3, 10, 41, 12, tzinfo=LONDON)
    assert first.start.isoformat() == "2026-05-03T10:41:12+01:00"  # 09:41:12 UTC, British Summer Time
    assert first.start_from is StartFrom.CREATION
    assert (first.camera, first.make, first.model) == ("Orrin K2", "Orrin", "K2")
    assert (first.width, first.height, first.fps, first.audio_tracks, first.has_video) == (320, 240, 25.0, 1, True)
    assert survey(folder, london) == (clips, problems)


def test_nothing_is_written(day: Callable[..., Path], london: Settings) -> None:
    folder = day("a.mp4")
    before = {p: p.stat() for p in folder.rglob("*")}
    survey(folder, london)
    after = {p: p.stat() for p in folder.rglob("*")}
    assert {p: (s.st_size, s.st_mtime_ns) for p, s in before.items()} == {
        p: (s.st_size, s.st_mtime_ns) for p, s in after.items()
    }


@pytest.mark.parametrize(
    ("name", "created", "tags", "start", "start_from", "doubts"),
    [
        ("20260503_111111.mp4", "2026-05-03T09:41:12Z", {}, "2026-05-03T10:41:12+01:00", StartFrom.CREATION, 0),
        (
            "a.mov",
            "2026-05-03T09:41:12Z",
            {"com.apple.quicktime.creationdate": "2026-05-03T11:00:00+0200"},
            "2026-05-03T10:00:00+01:00",
            StartFrom.CREATION,
            0,
        ),
        ("20260503_111111.mp4", None, {}, "2026-05-03T11:11:11+01:00", StartFrom.NAME, 0),
        ("20260503_111111.mp4", "1970-01-01T00:00:00Z", {}, "2026-05-03T11:11:11+01:00", StartFrom.NAME, 1),
        ("a.mp4", "2027-05-03T09:41:12Z", {}, "2026-05-04T09:00:00+01:00", StartFrom.MODIFIED, 1),
        ("a.mkv", "2040-02-06T06:28:15Z", {}, "2026-05-04T09:00:00+01:00", StartFrom.MODIFIED, 1),
        ("20990503_111111.mp4", None, {}, "2026-05-04T09:00:00+01:00", StartFrom.MODIFIED, 1),
        ("20261341_111111.mp4", None, {}, "2026-05-04T09:00:00+01:00", StartFrom.MODIFIED, 0),
    ],
)
def test_the_start_is_the_first_that_can_be_believed(
    tmp_path: Path,
    london: Settings,
    name: str,
    created: str | None,
    tags: dict[str, str],
    start: str,
    start_from: StartFrom,
    doubts: int,
) -> None:
    make_clip(tmp_path / "footage" / name, created=created, tags=tags)
    (clip,), problems = survey(tmp_path, london)
    assert clip.start.isoformat() == start
    assert clip.start_from is start_from
    assert len(problems) == doubts
    assert all(p.where == name and p.remedy for p in problems)


def test_a_clip_that_cannot_be_used_does_not_stop_the_rest(day: Callable[..., Path], london: Settings) -> None:
    folder = day("a.mp4")
    footage = folder / "footage"
    (footage / "empty.mp4").write_bytes(b"")
    (footage / "cut.mov").write_bytes((footage / "a.mp4").read_bytes()[:3000])
    (footage / "list.m3u8").write_text("#EXTM3U\n")
    (footage / "thing.xyz").write_bytes(b"\x00\x01\x02" * 100)
    (footage / "raw.braw").write_bytes(b"raw")
    os.mkfifo(footage / "pipe.mp4")
    clips, problems = survey(folder, london)
    assert [c.name for c in clips] == ["a.mp4"]
    assert {(p.where, p.level) for p in problems} == {
        ("empty.mp4", "error"),
        ("cut.mov", "error"),
        ("raw.braw", "error"),
        ("list.m3u8", "warning"),
        ("pipe.mp4", "warning"),
        ("thing.xyz", "note"),
    }


def test_links(day: Callable[..., Path], london: Settings, tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = day("a.mp4")
    footage, outside = folder / "footage", tmp_path_factory.mktemp("outside")
    (outside / "b.mp4").write_bytes((footage / "a.mp4").read_bytes())
    (footage / "out.mp4").symlink_to(outside / "b.mp4")
    (footage / "outside").symlink_to(outside)
    (footage / "again.mp4").symlink_to(footage / "a.mp4")
    (footage / "loop").symlink_to(footage)
    (footage / "self.mp4").symlink_to(footage / "self.mp4")
    clips, problems = survey(folder, london)
    assert [c.name for c in clips] == ["a.mp4"]
    assert {p.where: p.what for p in problems} == {
        "out.mp4": "a link that leads out of footage/; left out",
        "outside": "a link that leads out of footage/; left out",
        "again.mp4": "a link to something that is in footage/ already; left out",
        "loop": "a link to something that is in footage/ already; left out",
        "self.mp4": "a link that leads nowhere or back to itself; left out",
    }


def test_footage_may_itself_be_a_link(day: Callable[..., Path], london: Settings, tmp_path_factory) -> None:
    folder = day("a.mp4")
    other = tmp_path_factory.mktemp("day")
    (other / "footage").symlink_to(folder / "footage")
    assert [c.name for c in survey(other, london)[0]] == ["a.mp4"]


def test_nothing_usable_says_what_to_put_where(tmp_path: Path, london: Settings) -> None:
    with pytest.raises(UnusableInput, match="no footage folder") as caught:
        survey(tmp_path, london)
    assert "copy the raw clips" in caught.value.remedy
    (tmp_path / "footage").mkdir()
    with pytest.raises(UnusableInput, match="no clip"):
        survey(tmp_path, london)
    (tmp_path / "footage" / "a.mp4").write_bytes(b"")
    with pytest.raises(UnusableInput, match=r"a\.mp4: the file is empty"):
        survey(tmp_path, london)


def test_a_time_zone_that_does_not_exist(day: Callable[..., Path]) -> None:
    with pytest.raises(UnusableInput, match="no time zone 'Mars/Thessel'"):
        survey(day("a.mp4"), Settings(time_zone="Mars/Thessel"))


def test_transcripts_beside_and_alone(day: Callable[..., Path], london: Settings) -> None:
    footage = day("a.mp4", "b.mp4", "c.mp4") / "footage"
    write(footage / "A.SRT", SRT)
    write(footage / "b.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\nA button.\n")
    write(footage / "b.srt", SRT)
    write(footage / "c.txt", "My notes about clip c.\n")
    write(footage / "20260503_120000.srt", SRT)
    write(footage / "walk.txt", "[0:05] Here we are on the sands.\n\n[1:10] one two three four five\n")
    write(footage / "readme.txt", "Nothing to see. [0:05] is no stamp here.\n")
    write(footage / "broken.srt", "no cues at all")
    clips, problems = survey(footage.parent, london)
    told = {c.name: c for c in clips}
    assert set(told) == {"a.mp4", "b.mp4", "c.mp4", "20260503_120000.srt", "walk.txt"}
    assert told["a.mp4"].transcript == footage / "A.SRT"
    assert told["b.mp4"].transcript == footage / "b.srt"
    assert told["c.mp4"].transcript is None
    alone = told["20260503_120000.srt"]
    assert (alone.duration, alone.audio_tracks, alone.has_video) == (62.25, 0, False)
    assert (alone.start.isoformat(), alone.start_from) == ("2026-05-03T12:00:00+01:00", StartFrom.NAME)
    assert alone.transcript == alone.path == footage / "20260503_120000.srt"
    assert told["walk.txt"].duration == 72.0  # five words at 2.5 a second
    assert told["walk.txt"].start_from is StartFrom.MODIFIED
    assert {p.where for p in problems} == {"b.vtt", "c.txt", "broken.srt"}


def test_two_clips_of_one_name_and_a_transcript(day: Callable[..., Path], london: Settings) -> None:
    footage = day("a.mov", "a.mkv") / "footage"
    write(footage / "a.srt", SRT)
    write(footage / "a.txt", "[0:01] hello there\n")
    clips, problems = survey(footage.parent, london)
    assert [c.name for c in clips if c.transcript] == ["a.mkv"]
    assert {p.where for p in problems} == {"a.srt", "a.txt"}


def test_two_transcripts_alone_of_one_name_are_one_clip(tmp_path: Path, london: Settings) -> None:
    write(tmp_path / "footage" / "a.srt", SRT)
    write(tmp_path / "footage" / "a.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\nA button.\n")
    (clip,), problems = survey(tmp_path, london)
    assert clip.name == "a.srt"
    assert [p.where for p in problems] == ["a.vtt"]


def test_cameras(day: Callable[..., Path], tmp_path: Path, london: Settings) -> None:
    make_clip(tmp_path / "footage" / "cam-b" / "DCIM" / "x.mp4")
    make_clip(tmp_path / "footage" / "VID_20260503_111111.mp4")
    make_clip(tmp_path / "footage" / "cam-a-01.mp4")
    make_clip(tmp_path / "footage" / "arrival.mp4")
    make_clip(tmp_path / "footage" / "lav" / "one.mp4")
    day("K1.mp4")
    settings = london.model_copy(update={"cameras": {"lav/": "collar mic", "la": "wrong", "k1": "chest"}})
    clips, _ = survey(tmp_path, settings)
    assert {c.name: c.camera for c in clips} == {
        "cam-b/DCIM/x.mp4": "cam-b",
        "VID_20260503_111111.mp4": "VID",
        "cam-a-01.mp4": "cam-a",
        "arrival.mp4": "camera",
        "lav/one.mp4": "collar mic",
        "K1.mp4": "chest",
    }


def starts(tmp_path: Path, settings: Settings) -> dict[str, tuple[float, StartFrom]]:
    origin = datetime(2026, 5, 3, 9, 41, 12, tzinfo=UTC)
    return {c.name: ((c.start - origin) / timedelta(seconds=1), c.start_from) for c in survey(tmp_path, settings)[0]}


def test_chaptered_recordings_follow_on(tmp_path: Path, london: Settings) -> None:
    footage = tmp_path / "footage"
    make_clip(footage / "GX010123.mp4")
    make_clip(footage / "GX020123.mp4")  # the same creation time, as action cameras write it
    make_clip(footage / "GX030123.mp4", created="2026-05-03T09:41:16Z")
    make_clip(footage / "GX010124.mp4", created="2026-05-03T10:00:00Z")
    told = starts(tmp_path, london)
    assert told["GX010123.mp4"] == (0, StartFrom.CREATION)
    assert told["GX020123.mp4"] == (pytest.approx(2, abs=0.1), StartFrom.PREVIOUS)
    assert told["GX030123.mp4"] == (pytest.approx(4, abs=0.2), StartFrom.PREVIOUS)
    assert told["GX010124.mp4"] == (1128, StartFrom.CREATION)


def test_numbered_pieces_follow_on_only_with_a_sign(tmp_path: Path, london: Settings) -> None:
    footage = tmp_path / "footage"
    make_clip(footage / "C0001.mp4")
    make_clip(footage / "C0002.mp4", created="2026-05-03T09:41:15Z")  # 1 s after C0001 ends
    make_clip(footage / "C0003.mp4", created="2026-05-03T09:50:00Z")  # a new recording
    make_clip(footage / "C0005.mp4", created="2026-05-03T09:50:02Z")  # a number is missing between
    make_clip(footage / "D0001.mp4", created=None)
    make_clip(footage / "D0002.mp4", created=None)  # copied in the same second says nothing
    told = starts(tmp_path, london)
    assert {name: how for name, (_, how) in told.items()} == {
        "C0001.mp4": StartFrom.CREATION,
        "C0002.mp4": StartFrom.PREVIOUS,
        "C0003.mp4": StartFrom.CREATION,
        "C0005.mp4": StartFrom.CREATION,
        "D0001.mp4": StartFrom.MODIFIED,
        "D0002.mp4": StartFrom.MODIFIED,
    }
    assert told["C0002.mp4"][0] == pytest.approx(2, abs=0.1)


@pytest.mark.parametrize("name", ["-odd.mp4", "a 'b' \"c\".mp4", "line\nbreak.mp4", "pot 🏺 %d.mp4", "back\\slash.mp4"])
def test_odd_names(day: Callable[..., Path], london: Settings, name: str) -> None:
    (clip,), _ = survey(day(name), london)
    assert clip.name == name


def test_a_name_that_is_not_text(day: Callable[..., Path], london: Settings) -> None:
    folder = day("a.mp4")
    odd = os.fsencode(folder / "footage") + b"/caf\xe9.mp4"
    Path(os.fsdecode(odd)).write_bytes((folder / "footage" / "a.mp4").read_bytes())
    os.utime(odd, (MODIFIED, MODIFIED))
    clips, problems = survey(folder, london)
    assert {c.name for c in clips} == {"a.mp4", "caf\\xe9.mp4"}
    assert all(c.model_dump_json() for c in clips)
    assert problems == ()
