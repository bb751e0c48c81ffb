"""Read back what the reference library (OpenTimelineIO and its CMX3600 adapter) writes."""

from __future__ import annotations

from pathlib import Path

import opentimelineio as otio
import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.cutting.timeline import read_timeline
from episode.errors import UnusableInput
from tests.cutting.conftest import clip_of

RATE = 25
T, R = otio.opentime.RationalTime, otio.opentime.TimeRange
CLIPS = [clip_of(Path("/day/footage/hand/walk one.mp4"), 300), clip_of(Path("/day/footage/CHST0041.MP4"), 600)]
CLIPS[0] = CLIPS[0].model_copy(update={"name": "hand/walk one.mp4"})


def span(begin: float, length: float) -> R:
    return R(T(begin * RATE, RATE), T(length * RATE, RATE))


def shot(url: str, begin: float, length: float, available: R | None = None, name: str = "") -> otio.schema.Clip:
    media = otio.schema.ExternalReference(target_url=url, available_range=available)
    return otio.schema.Clip(name=name or Path(url).name, media_reference=media, source_range=span(begin, length))


def timeline(*items: otio.core.Composable) -> otio.schema.Timeline:
    made = otio.schema.Timeline("film")
    made.tracks.append(otio.schema.Track("V1", kind=otio.schema.TrackKind.Video, children=list(items)))
    return made


def written(made: otio.schema.Timeline, path: Path) -> Path:
    otio.adapters.write_to_file(made, str(path))
    return path


def told(path: Path) -> list[tuple[str | None, float, float, float, float]]:
    return [
        (p.clip, round(p.cut_start, 3), round(p.cut_end, 3), round(p.clip_start, 3), p.speed)
        for p in read_timeline(path, CLIPS).pieces
    ]


def test_an_otio_timeline(tmp_path: Path) -> None:
    fast = shot("CHST0041.MP4", 20, 4)
    fast.effects.append(otio.schema.LinearTimeWarp(time_scalar=2.0))
    made = timeline(
        shot("file:///d/footage/hand/walk%20one.mp4", 10, 5),
        otio.schema.Gap(source_range=span(0, 2)),
        shot("CHST0041.MP4", 3600 + 100, 6, available=span(3600, 600)),
        shot("/music/theme.wav", 0, 3),
        fast,
    )
    path = written(made, tmp_path / "film.otio")
    assert told(path) == [
        ("hand/walk one.mp4", 0, 5, 10, 1),
        (None, 5, 7, 0, 1),
        ("CHST0041.MP4", 7, 13, 100, 1),
        (None, 13, 16, 0, 1),
        ("CHST0041.MP4", 16, 20, 20, 2),
    ]
    traced = read_timeline(path, CLIPS)
    assert (traced.how, traced.duration) == ("otio", 20)
    assert ["theme.wav" in p.where for p in traced.problems] == [True]


def test_the_topmost_track_is_seen(tmp_path: Path) -> None:
    made = timeline(shot("CHST0041.MP4", 0, 10))
    upper = [otio.schema.Gap(source_range=span(0, 4)), shot("walk one.mp4", 50, 2)]
    made.tracks.append(otio.schema.Track("V2", kind=otio.schema.TrackKind.Video, children=upper))
    made.tracks.append(otio.schema.Track("A1", kind=otio.schema.TrackKind.Audio, children=[shot("theme.wav", 0, 10)]))
    assert told(written(made, tmp_path / "film.otio")) == [
        ("CHST0041.MP4", 0, 4, 0, 1),
        ("hand/walk one.mp4", 4, 6, 50, 1),
        ("CHST0041.MP4", 6, 10, 6, 1),
    ]


def test_an_edit_list(tmp_path: Path) -> None:
    made = timeline(shot("walk one.mp4", 10, 5), shot("CHST0041.MP4", 100, 6), shot("walk one.mp4", 2, 1))
    assert told(written(made, tmp_path / "film.edl")) == [
        ("hand/walk one.mp4", 0, 5, 10, 1),
        ("CHST0041.MP4", 5, 11, 100, 1),
        ("hand/walk one.mp4", 11, 12, 2, 1),
    ]


def test_an_edit_list_by_hand_that_begins_at_one_hour(tmp_path: Path) -> None:
    """The columns of CMX3600: event, reel, channel, cut, source in and out, record in and out."""
    path = tmp_path / "film.edl"
    path.write_text(
        "TITLE: FILM\nFCM: NON-DROP FRAME\n\n"
        "001  AX  V  C  00:01:40:00 00:01:46:12 01:00:00:00 01:00:06:12\n* FROM CLIP NAME: CHST0041.MP4\n"
        "002  AX  V  C  00:00:10:00 00:00:15:00 01:00:08:12 01:00:13:12\n* FROM CLIP NAME: walk one.mp4\n"
        "003  AX  V  C  00:00:10:24 00:00:15:24 01:00:13:12 01:00:18:12\n* FROM CLIP NAME: nobody.mov\n"
    )
    assert told(path) == [
        ("CHST0041.MP4", 0, 6.48, 100, 1),
        (None, 6.48, 8.48, 0, 1),
        ("hand/walk one.mp4", 8.48, 13.48, 10, 1),
        (None, 13.48, 18.48, 0, 1),
    ]


def test_timecode_that_no_clip_can_have_is_not_guessed(tmp_path: Path) -> None:
    path = written(timeline(shot("walk one.mp4", 36_000, 5)), tmp_path / "film.edl")
    traced = read_timeline(path, CLIPS)
    assert [p.clip for p in traced.pieces] == [None]
    assert "timecode lies outside" in traced.problems[0].what


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.otio", ""),
        ("a.otio", "{}"),
        ("a.otio", '{"OTIO_SCHEMA": "Gap.1"}'),
        ("a.otio", '{"OTIO_SCHEMA": "Timeline.1", "tracks": null}'),
        ("a.edl", ""),
        ("a.edl", "TITLE: X\n\n001  AX  V  C  nonsense\n"),
        ("a.edl", "\x00\x01\x02"),
    ],
)
def test_what_is_no_timeline_says_so(tmp_path: Path, name: str, text: str) -> None:
    (tmp_path / name).write_text(text)
    with pytest.raises(UnusableInput) as caught:
        read_timeline(tmp_path / name, CLIPS)
    assert caught.value.where == str(tmp_path / name)
    assert caught.value.remedy


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput, match="cannot be read"):
        read_timeline(tmp_path / "gone.otio", CLIPS)


@given(st.text(alphabet="0123456789:; \nVACAXBL*FROMCLIPNAE.", max_size=200))
def test_no_edit_list_breaks_it(tmp_path: Path, text: str) -> None:
    path = tmp_path / "a.edl"
    path.write_text("TITLE: X\n" + text)
    try:
        traced = read_timeline(path, CLIPS)
    except UnusableInput:
        return
    assert traced.pieces
