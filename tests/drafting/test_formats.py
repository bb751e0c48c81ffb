"""Every file format from one invented day, opened by programs and libraries other than ours."""

from __future__ import annotations

import csv
import html
import io
import json
import subprocess
from pathlib import Path

import pytest

from episode.drafting.formats import (
    chapters_ffmeta,
    chapters_json,
    chapters_txt,
    chapters_vtt,
    claims_csv,
    render_all,
    selects_edl,
    selects_otio,
    timeline_otio,
)
from episode.models import Chapter, Claim, Transcript, Verdict
from tests.drafting.invented import CLAIMS, CLIPS, HEAD, SETTINGS, clip, day, moment

AWKWARD = (
    Chapter(start=0, end=59.9996, title="Setting out; a=b #1 \\ back"),
    Chapter(start=59.9996, end=3599.2, title="Pins & needles -- the 1st"),
    Chapter(start=3599.2, end=3700, title="Über-Fundstück: „Münze“ 硬币"),
)


def test_every_file_of_the_contract_is_there():
    assert list(render_all(day())) == [
        "chapters.json", "chapters.txt", "chapters.vtt", "chapters.ffmeta", "chapters.xml",
        "chapters.podcast.json", "captions.vtt", "captions.srt", "claims.csv", "log_check.csv", "timeline.otio",
        "timeline.edl", "selects.otio", "selects.edl", "description.txt", "corrections.txt",
        "description.md", "short.txt", "comment.txt",
    ]  # fmt: skip


def test_the_same_day_gives_the_same_bytes():
    assert render_all(day()) == render_all(day())


def test_no_machine_path_and_no_private_place_gets_out():
    for name, text in render_all(day()).items():
        assert "/nowhere" not in text, name
        assert "old hard" not in text, name
        assert "4123 0871" not in text, name
        assert "TH-4471" not in text, name


def test_json_shape():
    shape = json.loads(chapters_json.render(day()))
    assert shape["format"] == "episode.chapters/1"
    assert set(shape["chapters"][0]) >= {"start", "end", "title", "moments"}


def test_lines_show_hours_on_all_stamps_or_on_none():
    assert chapters_txt.render(day()).splitlines()[0] == "0:00 Setting out at Skelby Sands"
    long = day(chapters=(*AWKWARD, Chapter(start=3700, end=4000, title="Round-up")))
    assert [line.split()[0] for line in chapters_txt.render(long).splitlines()] == [
        "0:00:00", "0:00:59", "0:59:59", "1:01:40",
    ]  # fmt: skip


def test_webvtt_is_read_back_by_webvtt_py():
    import webvtt

    track = webvtt.from_string(chapters_vtt.render(day(chapters=AWKWARD)))
    assert [html.unescape(c.text) for c in track] == [  # the library hands on entities as they are
        "Setting out; a=b #1 \\ back", "Pins & needles -- the 1st", "Über-Fundstück: „Münze“ 硬币",
    ]  # fmt: skip
    assert track[1].start == "00:01:00.000" and track[2].end == "01:01:40.000"


def test_ffmpeg_puts_the_metadata_into_a_film_and_the_chapters_are_read_back(tmp_path: Path):
    import av
    import imageio_ffmpeg

    meta, film = tmp_path / "chapters.ffmeta", tmp_path / "film.mkv"
    meta.write_text(chapters_ffmeta.render(day(chapters=AWKWARD)), encoding="utf-8")
    ffmpeg = imageio_ffmpeg.get_ffmpeg_exe()
    sound = ["-f", "lavfi", "-i", "anullsrc=r=8000:cl=mono", "-i", str(meta), "-t", "3700", "-c:a", "pcm_u8"]
    mapped = ["-map_metadata", "1", "-map_chapters", "1"]
    subprocess.run([ffmpeg, "-v", "error", *sound, *mapped, str(film)], check=True, capture_output=True, timeout=120)
    with av.open(str(film)) as container:
        read = container.chapters()
    assert [c["metadata"]["title"] for c in read] == [c.title for c in AWKWARD]
    seconds = [float(c[key] * c["time_base"]) for c in read for key in ("start", "end")]
    assert seconds == pytest.approx([0, 60, 60, 3599.2, 3599.2, 3700])


def test_timeline_has_every_clip_in_order_with_a_marker_a_moment():
    import opentimelineio as otio

    timeline = otio.adapters.read_from_string(timeline_otio.render(day()), "otio_json")
    picture, sound = timeline.tracks
    assert [c.name for c in picture] == [c.name for c in CLIPS] == [c.name for c in sound]
    marks = [m.metadata["episode"]["moment"] for c in timeline.find_clips() for m in c.markers]
    assert marks == [m.id for m in day().moments]
    second = picture[1]
    assert second.media_reference.target_url == "../footage/hand/C0002.MP4"
    assert second.markers[0].marked_range.start_time.to_seconds() == 22
    assert second.markers[0].name == "4 creamware"


def test_timeline_keeps_each_clips_rate_and_the_programme_its_length():
    import opentimelineio as otio

    timeline = otio.adapters.read_from_string(timeline_otio.render(day()), "otio_json")
    rates = [round(c.source_range.duration.rate, 3) for c in timeline.tracks[0]]
    assert rates == [25, 25, 29.97, 25, 29.97, 25]
    assert timeline.duration().to_seconds() == pytest.approx(sum(c.duration for c in CLIPS), abs=0.1)


def test_sound_alone_stands_on_the_sound_track_with_its_marker():
    import opentimelineio as otio

    clips = (clip("a.mp4", 0, 100), clip("b.wav", 5, 100, fps=None))
    one = moment(1, 0, 10, 20, "pin", find="1").model_copy(update={"clip": "b.wav"})
    with_sound = day(clips=clips, matched=day().matched.model_copy(update={"moments": (one,)}))
    timeline = otio.adapters.read_from_string(timeline_otio.render(with_sound), "otio_json")
    picture, sound = timeline.tracks
    assert [type(c).__name__ for c in picture] == ["Clip", "Gap"]
    assert [c.name for c in sound] == ["a.mp4", "b.wav"]
    assert [len(c.markers) for c in sound] == [0, 1]


def test_names_that_are_no_addresses_are_quoted():
    clips = (clip("hand/odd name #1?.mp4", 0, 100),)
    assert "../footage/hand/odd%20name%20%231%3F.mp4" in timeline_otio.render(day(clips=clips))


def test_selects_hold_finds_and_the_ends_of_the_day_and_nothing_else():
    import opentimelineio as otio

    timeline = otio.adapters.read_from_string(selects_otio.render(day()), "otio_json")
    pieces = list(timeline.tracks[0])
    assert pieces[0].name == "opening" and pieces[-1].name == "closing"
    bowl = [c for c in pieces if c.name == "1 pipe bowl"]
    assert bowl[0].source_range.start_time.to_seconds() == 93  # two seconds of handle
    assert next(c for c in pieces if "pin" in c.name).name == "2 pin + 3 pin"
    kept = {i for c in pieces for i in c.metadata["episode"]["moments"]}
    shown = {"found", "earlier", "unsure", "recap"}  # the recaps of this day are its round-up
    assert kept == {m.id for m in day().moments if m.stance.value in shown}


def test_selects_as_edl_are_read_back_by_the_cmx_3600_adapter():
    import opentimelineio as otio

    text = selects_edl.render(day())
    back = otio.adapters.read_from_string(text, "cmx_3600", rate=25)
    sent = otio.adapters.read_from_string(selects_otio.render(day()), "otio_json")
    events, pieces = list(back.tracks[0]), list(sent.tracks[0])
    assert [e.name for e in events] == [p.name for p in pieces]
    for event, piece in zip(events, pieces, strict=True):
        assert event.source_range.start_time.to_seconds() == pytest.approx(
            piece.source_range.start_time.to_seconds(), abs=0.04
        )
    assert next(e for e in events if "toggle" in e.name).metadata["cmx_3600"]["reel"] == "GX010021"
    assert "FCM: NON-DROP FRAME" in text


def test_edl_of_29_97_footage_counts_drop_frames():
    import opentimelineio as otio

    clips = tuple(clip(c.name, i, c.duration, HEAD, 29.97) for i, c in enumerate(CLIPS))
    text = selects_edl.render(day(clips=clips))
    assert "FCM: DROP FRAME" in text
    back = otio.adapters.read_from_string(text, "cmx_3600", rate=30000 / 1001)
    bowl = next(e for e in back.tracks[0] if e.name == "1 pipe bowl")
    assert bowl.source_range.start_time.to_seconds() == pytest.approx(93, abs=0.05)


def test_edl_of_nothing_has_a_title():
    import opentimelineio as otio

    text = selects_edl.render(day(matched=day().matched.model_copy(update={"moments": ()}), transcript=Transcript()))
    assert text.startswith("TITLE: Morning ebb at Skelby Sands\r\n")
    assert len(otio.adapters.read_from_string(text, "cmx_3600", rate=25).tracks) == 0


def test_reels_are_eight_plain_characters_and_unique():
    names = ["hand/C0001.MP4", "head/C0001.MP4", "äöü.mp4", "***.mp4", "2026-05-03 08.12.04 long name.mov", "硬币.mp4"]
    reels = selects_edl.reel_names(names)
    assert list(reels) == names
    assert len(set(reels.values())) == len(names)
    assert all(r.isascii() and r.isalnum() and len(r) <= 8 for r in reels.values())


def test_claims_are_rfc_4180_rows_with_the_contracts_keys():
    text = claims_csv.render(day())
    assert text.count("\r\n") == len(CLAIMS) + 1
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert {"id", "clip", "start", "end", "quote", "about", "find", "kind", "edtf", "from", "to", "verdict",
            "reference", "note"} <= set(rows[0])  # fmt: skip
    assert rows[2]["quote"] == CLAIMS[2].quote and rows[2]["from"] == "1762" and rows[2]["verdict"] == "supported"
    assert rows[7]["evidence"] == CLAIMS[7].evidence[0].statement


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r="])
def test_no_cell_is_a_formula(start: str):
    wicked = start + 'HYPERLINK("http://example.org")'
    texts = dict.fromkeys(("quote", "about", "find", "reference", "note"), wicked)
    values = {**CLAIMS[0].model_dump(by_alias=True), **texts, "edtf": "-0054/-0043", "from": -54, "to": -43}
    rows = list(csv.DictReader(io.StringIO(claims_csv.render(day(claims=(Claim(**values),))), newline="")))
    for column in ("quote", "about", "find", "reference", "note", "edtf"):
        assert not rows[0][column].startswith(("=", "+", "-", "@", "\t", "\r")), column
    assert rows[0]["from"] == "-54"  # a number stays one


def test_names_of_places_in_quotes_are_withheld():
    quoted = CLAIMS[0].model_copy(update={"quote": "by the Old Hard at TZ 4123 0871", "verdict": Verdict.UNREFERENCED})
    text = claims_csv.render(day(claims=(quoted,), settings=SETTINGS))
    assert "Old Hard" not in text and "4123" not in text
