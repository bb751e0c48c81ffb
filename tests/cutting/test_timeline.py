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


def edl(tmp_path: Path, *lines: str, fcm: str = "NON-DROP FRAME") -> Path:
    path = tmp_path / "film.edl"
    path.write_text("\n".join(("TITLE: FILM", f"FCM: {fcm}", "", *lines)) + "\n")
    return path


def test_a_cross_fade_counts_from_its_middle(tmp_path: Path) -> None:
    made = timeline(shot("CHST0041.MP4", 10, 10), shot("walk one.mp4", 5, 10))
    fade = otio.schema.Transition("SMPTE_Dissolve", "SMPTE_Dissolve", in_offset=T(5, RATE), out_offset=T(25, RATE))
    made.tracks[0].insert(1, fade)
    expected = [("CHST0041.MP4", 0, 10.4, 10, 1), ("hand/walk one.mp4", 10.4, 20, 5.4, 1)]
    assert told(written(made, tmp_path / "film.otio")) == expected
    # In an edit list the cut is where the fade begins: one second from there on.
    path = edl(
        tmp_path,
        "001  AX V C        00:00:10:00 00:00:20:00 01:00:00:00 01:00:10:00",
        "* FROM CLIP NAME: CHST0041.MP4",
        "002  AX V C        00:00:20:00 00:00:20:00 01:00:10:00 01:00:10:00",
        "002  AX V D    025 00:00:05:00 00:00:15:00 01:00:10:00 01:00:20:00",
        "* FROM CLIP NAME: CHST0041.MP4",
        "* TO CLIP NAME: walk one.mp4",
    )
    assert told(path) == [("CHST0041.MP4", 0, 10.5, 10, 1), ("hand/walk one.mp4", 10.5, 20, 5.5, 1)]


def test_a_fade_from_black_moves_nothing(tmp_path: Path) -> None:
    made = timeline(otio.schema.Gap(source_range=span(0, 2)), shot("CHST0041.MP4", 10, 10))
    fade = otio.schema.Transition("SMPTE_Dissolve", "SMPTE_Dissolve", in_offset=T(0, RATE), out_offset=T(25, RATE))
    made.tracks[0].insert(1, fade)
    assert told(written(made, tmp_path / "film.otio")) == [(None, 0, 2, 0, 1), ("CHST0041.MP4", 2, 12, 10, 1)]


def test_speeds_in_an_edit_list(tmp_path: Path) -> None:
    path = edl(
        tmp_path,
        "001  AX V C        00:00:10:00 00:00:20:00 01:00:00:00 01:00:05:00",
        "M2   AX   050.0                00:00:10:00",
        "* FROM CLIP NAME: CHST0041.MP4",
        "002  AX V C        00:00:30:00 00:00:32:12 01:00:05:00 01:00:10:00",
        "M2   AX   012.5                00:00:30:00",
        "* FROM CLIP NAME: walk one.mp4",
    )
    assert told(path) == [("CHST0041.MP4", 0, 5, 10, 2), ("hand/walk one.mp4", 5, 10, 30, 0.5)]


@pytest.mark.parametrize("mark", [";", ":"])
def test_drop_frame(tmp_path: Path, mark: str) -> None:
    """SMPTE ST 12-1 (from memory): drop frame leaves out two numbers a minute but for every tenth."""

    def code(frames: int) -> str:
        ten, rest = divmod(frames, 17_982)
        frames += 18 * ten + (2 * ((rest - 2) // 1798) if rest > 1 else 0)
        return mark.join(f"{n:02d}" for n in (frames // 108_000, frames // 1800 % 60, frames // 30 % 60, frames % 30))

    # Ten minutes and a bit, from just before the eleventh minute.
    cuts = [(19_700, 19_700 + 2_000), (1_790, 1_850)]
    lines, at = [], 107_892
    for number, (begin, end) in enumerate(cuts, start=1):
        lines.append(f"{number:03d}  AX V C  {code(begin)} {code(end)} {code(at)} {code(at + end - begin)}")
        lines.append("* FROM CLIP NAME: CHST0041.MP4")
        at += end - begin
    got = read_timeline(edl(tmp_path, *lines, fcm="DROP FRAME"), [clip_of(Path("CHST0041.MP4"), 900)]).pieces
    rate = 30_000 / 1001
    assert [p.clip for p in got] == ["CHST0041.MP4"] * 2
    for piece, (begin, end) in zip(got, cuts, strict=True):
        assert piece.clip_start == pytest.approx(begin / rate, abs=1e-3)
        assert piece.cut_end - piece.cut_start == pytest.approx((end - begin) / rate, abs=1e-3)


def test_a_list_of_film_frames_is_as_slow_as_its_clips(tmp_path: Path) -> None:
    path = edl(
        tmp_path,
        "001  AX V C        00:05:00:00 00:05:01:23 01:00:00:00 01:00:01:23",
        "* FROM CLIP NAME: CHST0041.MP4",
    )
    (piece,) = read_timeline(path, [CLIPS[1].model_copy(update={"fps": 24000 / 1001})]).pieces
    assert piece.clip_start == pytest.approx(300 * 24 / (24000 / 1001), abs=1e-3)
    (piece,) = read_timeline(path, [CLIPS[1].model_copy(update={"fps": 24.0})]).pieces
    assert piece.clip_start == pytest.approx(300)


def test_reels_cut_to_eight_letters(tmp_path: Path) -> None:
    clips = [clip_of(Path(f"/d/{name}"), 300) for name in ("LONG_NAME_2026_A.MOV", "OTHER123_1.MOV", "OTHER123_2.MOV")]
    path = edl(
        tmp_path,
        "001  LONGNAME V C  00:00:10:00 00:00:20:00 01:00:00:00 01:00:10:00",
        "002  OTHER123 V C  00:00:10:00 00:00:20:00 01:00:10:00 01:00:20:00",
        "003  OTHER123 V C  00:00:30:00 00:00:40:00 01:00:20:00 01:00:30:00",
        "* FROM CLIP NAME: OTHER123_2.MOV",
        "004  BL       V C  00:00:00:00 00:00:02:00 01:00:30:00 01:00:32:00",
    )
    traced = read_timeline(path, clips)
    assert [(p.clip, p.flags) for p in traced.pieces] == [
        ("LONG_NAME_2026_A.MOV", ()),
        (None, ("unmatched reel",)),  # two clips begin so: not guessed
        ("OTHER123_2.MOV", ()),
        (None, ()),
    ]
    assert [p.where for p in traced.problems] == ["OTHER123 at 0:10 of the cut"]


def nested(speed: float = 1.0) -> otio.schema.Timeline:
    inner = otio.schema.Stack("sequence", source_range=span(3, 8))
    inner.append(
        otio.schema.Track(
            "V1", kind=otio.schema.TrackKind.Video,
            children=[shot("walk one.mp4", 50, 6), shot("CHST0041.MP4", 200, 10)],
        )
    )  # fmt: skip
    over = [otio.schema.Gap(source_range=span(0, 7)), shot("walk one.mp4", 100, 2)]
    inner.append(otio.schema.Track("V2", kind=otio.schema.TrackKind.Video, children=over))
    if speed != 1:
        inner.effects.append(otio.schema.LinearTimeWarp(time_scalar=speed))
    return timeline(shot("CHST0041.MP4", 0, 5), inner, shot("walk one.mp4", 20, 1))


def test_a_nested_sequence(tmp_path: Path) -> None:
    made = nested()
    path = written(made, tmp_path / "film.otio")
    assert told(path) == [
        ("CHST0041.MP4", 0, 5, 0, 1),
        ("hand/walk one.mp4", 5, 8, 53, 1),
        ("CHST0041.MP4", 8, 9, 200, 1),
        ("hand/walk one.mp4", 9, 11, 100, 1),
        ("CHST0041.MP4", 11, 13, 203, 1),
        ("hand/walk one.mp4", 13, 14, 20, 1),
    ]


def test_a_nested_sequence_at_double_speed(tmp_path: Path) -> None:
    assert told(written(nested(2.0), tmp_path / "film.otio"))[1:3] == [
        ("hand/walk one.mp4", 5, 6.5, 53, 2),
        ("CHST0041.MP4", 6.5, 7, 200, 2),
    ]


def test_switched_off_is_not_shown(tmp_path: Path) -> None:
    made = timeline(shot("CHST0041.MP4", 0, 10))
    upper = shot("walk one.mp4", 50, 10)
    upper.enabled = False
    made.tracks.append(otio.schema.Track("V2", kind=otio.schema.TrackKind.Video, children=[upper]))
    assert told(written(made, tmp_path / "film.otio")) == [("CHST0041.MP4", 0, 10, 0, 1)]


SHOTS = st.lists(
    st.tuples(st.sampled_from(["CHST0041.MP4", "walk one.mp4", None]), st.integers(0, 200), st.integers(1, 40)),
    min_size=1, max_size=6,
)  # fmt: skip


@given(SHOTS, SHOTS, st.integers(0, 10), st.integers(1, 60))
def test_the_reference_library_places_everything_alike(
    tmp_path: Path, low: list, high: list, skip: int, length: int
) -> None:
    """Against OpenTimelineIO's own ``flatten_stack`` and time transforms, over two tracks, one with a nested track."""

    def items(shots: list) -> list:
        return [
            shot(name, begin, long) if name else otio.schema.Gap(source_range=span(0, long))
            for name, begin, long in shots
        ]

    inner = otio.schema.Track("nested", kind=otio.schema.TrackKind.Video, children=items(high))
    inner.source_range = span(skip, length)
    made = timeline(*items(low))
    made.tracks.append(otio.schema.Track("V2", kind=otio.schema.TrackKind.Video, children=items(high[::-1])))
    flat = otio.algorithms.flatten_stack([t.deepcopy() for t in made.tracks])
    expected: dict[int, tuple[str, int]] = {}
    for clip in flat.find_clips():
        there = clip.transformed_time_range(clip.trimmed_range(), flat)
        for k in range(round(there.duration.to_seconds())):
            source = clip.trimmed_range().start_time.to_seconds() + k
            expected[round(there.start_time.to_seconds()) + k] = (clip.name, round(source))
    if not expected:
        return
    got = {}
    for piece in read_timeline(written(made, tmp_path / "film.otio"), CLIPS).pieces:
        for k in range(round(piece.cut_end - piece.cut_start)):
            if piece.clip:
                got[round(piece.cut_start) + k] = (Path(piece.clip).name, round(piece.clip_start + k))
    assert got == expected


@given(st.lists(st.tuples(st.integers(1, 400), st.integers(1, 60), st.sampled_from(CLIPS)), min_size=1, max_size=8))
def test_an_edit_list_of_the_reference_library_reads_back(tmp_path: Path, shots: list) -> None:
    made = timeline(*(shot(Path(clip.name).name, begin % 200, long) for begin, long, clip in shots))
    path = written(made, tmp_path / "film.edl")
    got = [(p.clip, p.clip_start, p.cut_end - p.cut_start) for p in read_timeline(path, CLIPS).pieces]
    assert got == [(c.name, pytest.approx(b % 200), pytest.approx(n)) for b, n, c in shots]


LINE = st.one_of(
    st.sampled_from(
        [
            "001  AX V C  00:00:10:00 00:00:20:00 01:00:00:00 01:00:10:00",
            "002  AX V D 025 00:00:05:00 00:00:15:00 01:00:10:00 01:00:20:00",
            "003  BL V W001 010 00:00:00:00 00:00:00:00 01:00:10:00 01:00:10:00",
            "004  a b  c V C 00;01;00;00 00;02;00;02 23;59;59;29 00;00;00;00",
            "005  AX AA/V C  99:99:99:99 00:00:00:00 01:00:10:00 00:00:10:00",
            "M2   AX   -50.0  00:00:10:00",
            "M2   AX   000.0  00:00:10:00",
            "M2   AX   1e999  00:00:10:00",
            "FCM: DROP FRAME",
            "* FROM CLIP NAME: CHST0041.MP4",
            "* TO CLIP NAME: walk one.mp4",
            "SPLIT: AUDIO DELAY= 00:00:01:00",
        ]
    ),
    st.text(max_size=60),
)


@given(st.lists(LINE, max_size=12))
def test_no_mix_of_lines_breaks_it(tmp_path: Path, lines: list[str]) -> None:
    path = tmp_path / "a.edl"
    path.write_text("TITLE: X\n" + "\n".join(lines), encoding="utf-8", errors="replace")
    try:
        traced = read_timeline(path, CLIPS)
    except UnusableInput:
        return
    ends = [(p.cut_start, p.cut_end) for p in traced.pieces]
    assert all(a <= b for a, b in ends)
    assert all(p.clip_start >= 0 for p in traced.pieces)


@given(st.data())
def test_no_timeline_with_a_value_gone_wrong_breaks_it(tmp_path: Path, data: st.DataObject) -> None:
    """One value anywhere in a good file replaced by another: read or refused, never anything else."""
    import json

    whole = json.loads(otio.adapters.write_to_string(nested(), "otio_json"))
    spots: list[tuple[object, object]] = []

    def collect(value: object) -> None:
        for key, one in value.items() if isinstance(value, dict) else enumerate(value):  # type: ignore[arg-type]
            spots.append((value, key))
            if isinstance(one, dict | list):
                collect(one)

    collect(whole)
    where, key = data.draw(st.sampled_from(spots))
    where[key] = data.draw(  # type: ignore[index]
        st.sampled_from([None, "", "x", 0, -1, 1e308, -25.0, [], {}, True, "Gap.1", "Track.1", "Nothing.9"])
    )
    path = tmp_path / "a.otio"
    path.write_text(json.dumps(whole))
    try:
        traced = read_timeline(path, CLIPS)
    except UnusableInput:
        return
    assert traced.duration >= 0
