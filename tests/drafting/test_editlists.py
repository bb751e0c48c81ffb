"""Edit lists: columns checked by their own pattern, times read back with OpenTimelineIO's adapter for CMX 3600."""

from __future__ import annotations

import re

import opentimelineio as otio
import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.drafting.formats import timeline_edl, timeline_otio
from episode.drafting.formats.editlist import Event, Mark, edit_list
from tests.drafting.invented import CLIPS, clip, day, moment

# Columns of a CMX 3600 event (from memory): number in 1 to 3, reel in 6 to 13, channels from 15, kind of cut from 21,
# four timecodes from 30, each followed by a space but the last.
EVENT = re.compile(r"\d{3}  (?=[A-Z0-9])[A-Z0-9 ]{8} [VA] {5}C {8}(\d\d:\d\d:\d\d[:;]\d\d ?){4}(?<! )")
OTHER = re.compile(r"(TITLE: .{0,70}|FCM: (NON-)?DROP FRAME|\* .+|)")


def lines(text: str) -> list[str]:
    assert text.endswith("\r\n") and "\n" not in text.replace("\r\n", "")
    return text.split("\r\n")[:-1]


def read(text: str, rate: float = 25):
    return otio.adapters.read_from_string(text, "cmx_3600", rate=rate)


def test_the_timeline_has_an_event_a_clip_and_a_remark_a_moment():
    back = read(timeline_edl.render(day()))
    events = list(back.tracks[0])
    assert [e.name for e in events] == [c.name for c in CLIPS]
    assert [round(e.source_range.duration.to_seconds(), 1) for e in events] == [c.duration for c in CLIPS]
    marks = [m for e in events for m in e.markers]
    assert [m.name for m in marks][:2] == ["1 pipe bowl", "2 pin - check unreferenced: right through Tudor times"]
    assert len(marks) == len(day().moments)
    # At record time: the first clip lasts 412.4 s, creamware begins 22 s into the second.
    creamware = next(m for m in marks if "creamware" in m.name)
    assert creamware.marked_range.start_time.to_seconds() == pytest.approx(434.4, abs=0.04)


def test_stance_is_said_in_words_and_shown_in_colour():
    text = timeline_edl.render(day())
    assert re.search(r"\* LOC: \S+ CYAN    earlier: Bellarmine", text)
    assert re.search(r"\* LOC: \S+ ORANGE  7 unidentified: loom weight\?", text)
    assert re.search(r"\* LOC: \S+ BLACK   hoped: spoon", text)


def test_markers_of_the_timeline_say_which_claims_want_a_look():
    timeline = otio.adapters.read_from_string(timeline_otio.render(day()), "otio_json")
    told = {m.metadata["episode"]["moment"]: m.comment for c in timeline.find_clips() for m in c.markers}
    assert told["m016"] == "check contradicted: Round bowl, so 1500s"
    assert told["m001"] == ""  # supported by the record


@given(
    st.text(max_size=300),
    st.lists(st.tuples(st.text(min_size=1, max_size=40), st.text(max_size=300), st.floats(0, 99)), max_size=8),
)
def test_nothing_in_a_name_can_add_a_line(title: str, given_names: list[tuple[str, str, float]]):
    clips = {name: clip(name, 0, 100) for name, _, _ in given_names}
    events = [Event(clips[n], at, at + 1, said, (Mark(at, said),)) for n, said, at in given_names]
    found = lines(edit_list(title, events, tuple(clips.values())))
    numbered = [line for line in found if EVENT.fullmatch(line)]
    assert len(numbered) == len(events)
    assert all(OTHER.fullmatch(line) for line in found if line not in numbered)
    assert len(found) == 2 + 5 * len(events)


@pytest.mark.parametrize(
    "name", ["x\r\n002  AX V C 00:00:00:00", "a\u2028* LOC: 00", "\x1b[31m", "TITLE: no", "\ud800"]
)
def test_hostile_names_stay_on_their_line(name: str):
    found = lines(edit_list(name, [Event(clip(name, 0, 9), 0, 1, name, (Mark(0, name),))], (clip(name, 0, 9),)))
    assert len(found) == 7 and found[2] == "" and EVENT.fullmatch(found[3])
    assert found[4].startswith("* FROM CLIP NAME:  ") and found[6].startswith("* LOC: 00:00:00:00 RED ")


@pytest.mark.parametrize(
    ("fps", "timecode", "first"),
    [
        (25.0, "10:00:00:00", "10:00:04:00"),
        (25.0, None, "00:00:04:00"),
        (24.0, "23:59:58:00", "00:00:02:00"),  # past midnight
        (30000 / 1001, "01:00:00;00", "01:00:04;00"),
        (30000 / 1001, None, "00:00:04;00"),
        (60000 / 1001, "00:59:59;58", "01:00:03;58"),
        (29.83, "01:00:00;00", "01:00:04;00"),  # a phone's variable rate, taken to the nearest
    ],
)
def test_source_times_count_from_the_clips_own_timecode(fps: float, timecode: str | None, first: str):
    one = clip("A001.MP4", 0, 60, fps=fps, timecode=timecode)
    event = next(line for line in lines(edit_list("t", [Event(one, 4, 6, "x")], (one,))) if EVENT.fullmatch(line))
    assert event.split()[4] == first


def test_drop_frame_agrees_with_the_standards_count():
    # SMPTE ST 12-1: 17,982 frames in ten minutes at 29.97; the frame after 00:00:59;29 is 00:01:00;02 (from memory).
    one = clip("A001.MP4", 0, 700, fps=30000 / 1001)
    ten, minute = 17982 * 1001 / 30000, 1800 * 1001 / 30000
    text = edit_list("t", [Event(one, 0, ten, "x"), Event(one, minute, ten, "y")], (one,))
    assert "FCM: DROP FRAME" in text
    assert [line.split()[4:6] for line in lines(text) if EVENT.fullmatch(line)] == [
        ["00:00:00;00", "00:10:00;00"], ["00:01:00;02", "00:10:00;00"],
    ]  # fmt: skip


def test_mixed_rates_are_brought_to_the_rate_of_most_of_the_footage():
    text = timeline_edl.render(day())
    assert "FCM: NON-DROP FRAME" in text
    back = read(text)  # held, for a track does not keep its timeline
    assert [e.source_range.duration.to_seconds() for e in back.tracks[0]] == pytest.approx(
        [c.duration for c in CLIPS], abs=0.04
    )


def test_sound_alone_goes_to_a_sound_channel():
    clips = (clip("a.mp4", 0, 10), clip("b.wav", 1, 10, fps=None))
    text = timeline_edl.render(day(clips=clips, matched=day().matched.model_copy(update={"moments": ()})))
    assert [line.split()[2] for line in lines(text) if EVENT.fullmatch(line)] == ["V", "A"]


def test_a_thousandth_event_is_not_lost_silently():
    one = clip("a.mp4", 0, 2000)
    text = edit_list("t", [Event(one, i, i + 1, f"n{i}") for i in range(1001)], (one,))
    assert sum(bool(EVENT.fullmatch(line)) for line in lines(text)) == 999
    assert lines(text)[-1].startswith("* 2 MORE DO NOT FIT")


def test_otio_ranges_start_at_the_clips_own_timecode():
    one = clip("A001.MP4", 0, 60, timecode="10:00:00:00")
    shown = moment(1, 0, 10, 20, "pin", find="1").model_copy(update={"clip": "A001.MP4"})
    given_day = day(clips=(one,), matched=day().matched.model_copy(update={"moments": (shown,)}))
    timeline = otio.adapters.read_from_string(timeline_otio.render(given_day), "otio_json")
    found = timeline.tracks[0][0]
    assert found.media_reference.available_range.start_time == otio.opentime.from_timecode("10:00:00:00", 25)
    assert found.source_range.start_time == found.media_reference.available_range.start_time
    assert found.markers[0].marked_range.start_time == otio.opentime.from_timecode("10:00:10:00", 25)
