"""Chapters against what hosts ask (vocab/rules/host_rules.csv, with its sources)."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from episode.drafting.chapters import chapter_problems, chapters
from episode.drafting.formats import chapters_txt
from episode.drafting.host_rules import host_rules
from episode.models import Claim, Moment, Segment, Settings, Stance, Transcript, Verdict, Word
from tests.drafting.invented import CLAIMS, CLIPS, SETTINGS, claim, clip, day, moment

PLAIN = Settings()
ONE_CLIP = (clip("one.mp4", 0, 600.0),)


def made(*moments: Moment, with_settings: Settings = PLAIN, claims: tuple[Claim, ...] = (), clips=ONE_CLIP):
    here = tuple(m.model_copy(update={"clip": clips[0].name}) for m in moments)
    return chapters(here, Transcript(), clips, with_settings, None, claims)


def titles(found) -> list[str]:
    return [chapter.title for chapter in found]


def test_rules_are_those_that_the_data_states():
    rules = host_rules()
    assert (rules.fewest, rules.shortest_s, rules.title_shown, rules.description_limit) == (3, 10, 49, 5000)


def test_a_whole_day():
    assert titles(day().chapters) == [
        "Setting out at Skelby Sands",
        "Pipe bowl, about 1640 to 1670",
        "Two pins",
        "About clay pipes",
        "Creamware, 1762 to 1820",
        "Lead token",
        "Codd bottle, 1870",
        "Unidentified: loom weight?",
        "Transfer-printed ware",
        "Bone toggle",
        "Thimble",
        "Musket ball",
        "Earlier find: Bellarmine",
        "Stoneware bottle",
        "Spoon bowl",
        "Unidentified find",
    ]


def test_begin_where_the_find_comes_into_talk_on_the_programme_timeline():
    found = {c.title: c for c in day().chapters}
    assert found["Creamware, 1762 to 1820"].start == 412.4 + 22
    assert found["Spoon bowl"].start == round(412.4 + 655 + 498.2 + 540 + 210, 3)
    assert day().chapters[-1].end == round(sum(c.duration for c in CLIPS), 3)


def test_short_neighbours_are_joined_under_a_title_that_names_both():
    found = made(
        moment(1, 0, 60, 64, "pipe bowl", find="1"),
        moment(2, 0, 65, 68, "pin", find="2"),
        moment(3, 0, 69, 75, "pin", find="3"),
        moment(4, 0, 200, 230, "lead token", find="4"),
    )
    assert titles(found) == ["Setting out", "Pipe bowl and two pins", "Lead token"]
    assert found[1].moments == ("m001", "m002", "m003")


def test_the_same_find_twice_in_a_row_is_one_and_later_on_is_said_to_be_more():
    found = made(
        moment(1, 0, 60, 64, "pin", find="1"),
        moment(2, 0, 65, 68, "pin", find="1"),
        moment(3, 0, 200, 220, "lead token", find="2"),
        moment(4, 0, 300, 320, "pin", find="1"),
    )
    assert titles(found) == ["Setting out", "Pin", "Lead token", "More on the pin"]


def test_recap_makes_no_find_chapter():
    found = made(
        moment(1, 0, 60, 80, "pin", find="1"),
        moment(2, 0, 90, 95, "token", Stance.RECAP),
        moment(3, 0, 200, 220, "button", find="2"),
        moment(4, 0, 500, 505, "pin", Stance.RECAP),
        moment(5, 0, 520, 525, "button", Stance.RECAP),
    )
    assert titles(found) == ["Setting out", "Pin", "Button"]
    assert [c.moments for c in found] == [(), ("m001",), ("m003",)]


def test_hoped_absent_and_compared_make_none():
    stances = (Stance.HOPED, Stance.ABSENT, Stance.COMPARED)
    found = made(*(moment(i, 0, 60 * i + 60, 60 * i + 90, "spoon", stance) for i, stance in enumerate(stances)))
    assert titles(found) == ["Setting out"]


def test_a_short_aside_makes_none_and_a_long_one_does():
    found = made(
        moment(1, 0, 60, 70, "clay pipe", Stance.ASIDE),
        moment(2, 0, 200, 260, "clay pipe", Stance.ASIDE),
    )
    assert titles(found) == ["Setting out", "About clay pipes"]


def test_only_a_supported_date_reaches_a_title():
    for verdict in Verdict:
        wrong = claim(1, "m001", "about 1640", "date", verdict, **{"from": 1640, "to": 1640})
        found = made(moment(1, 0, 60, 80, "pipe bowl", find="1"), claims=(wrong,))
        assert ("1640" in found[1].title) == (verdict is Verdict.SUPPORTED)


def test_a_date_of_what_it_was_likened_to_is_not_its_own():
    other = CLAIMS[0].model_copy(update={"about": "delftware"})
    assert made(moment(1, 0, 60, 80, "pipe bowl", find="1"), claims=(other,))[1].title == "Pipe bowl"


def test_a_private_place_does_not_stand_in_the_title():
    hidden = SETTINGS.model_copy(update={"private_places": ("Skelby Sands",)})
    assert made(moment(1, 0, 60, 80, "pin"), with_settings=hidden)[0].title == "Setting out"
    told = moment(1, 0, 60, 80, "pin", title="Pin from Skelby Sands")
    assert "Skelby" not in made(told, with_settings=hidden)[1].title


def test_a_find_in_the_first_seconds_opens_the_programme():
    found = made(moment(1, 0, 4, 30, "pin", find="1"), moment(2, 0, 100, 130, "token", find="2"))
    assert [(c.start, c.title) for c in found] == [(0, "Pin"), (100, "Token")]


def test_limit_keeps_the_surest():
    limited = SETTINGS.model_copy(update={"chapter_limit": 4})
    moments = [moment(i, 0, 60 * i, 60 * i + 30, f"thing {i}", find=str(i), confidence=c)
               for i, c in ((1, 0.2), (2, 0.9), (3, 0.3), (4, 0.8), (5, 0.7))]  # fmt: skip
    found = made(*moments, with_settings=limited)
    assert titles(found) == ["Setting out at Skelby Sands", "Thing 2", "Thing 4", "Thing 5"]
    assert found[1].moments == ("m002", "m003")


def test_too_few_are_said_to_be_and_give_no_stamps():
    few = day(matched=day().matched.model_copy(update={"moments": ()}))
    assert [p.level for p in chapter_problems(few.chapters)] == ["note"]
    text = chapters_txt.render(few)
    assert text.startswith("No chapters: ") and "0:00" not in text


def test_titles_carry_no_angle_brackets_and_are_cut_at_a_word():
    long = moment(1, 0, 60, 80, "pin", title="a <b>very</b> long title that goes on and on about one small pin")
    title = made(long)[1].title
    assert "<" not in title and ">" not in title
    assert len(title) <= host_rules().title_shown and title.endswith("…")


def test_a_title_style_of_ones_own_leaves_out_what_is_not_supported():
    for style, bare, full in (
        ("{name} ({date})", "Pipe bowl", "Pipe bowl (about 1640 to 1670)"),
        ("{date}: {name}", "Pipe bowl", "About 1640 to 1670: pipe bowl"),
        ("No. {number}: {name}", "No. 1: pipe bowl", "No. 1: pipe bowl"),
        ("{name}", "Pipe bowl", "Pipe bowl"),
    ):
        styled = SETTINGS.model_copy(update={"title_style": style})
        found = moment(1, 0, 60, 80, "pipe bowl", find="1")
        assert made(found, with_settings=styled)[1].title == bare
        assert made(found, with_settings=styled, claims=CLAIMS[:1])[1].title == full
    unlogged = moment(1, 0, 60, 80, "pipe bowl")
    numbered = SETTINGS.model_copy(update={"title_style": "No. {number}: {name}"})
    assert made(unlogged, with_settings=numbered)[1].title == "Pipe bowl"


@pytest.mark.parametrize("style", ["{name", "{name} {price}", "{maker}", "{name!r}", "{name:>20}", "{}", "{name.x}"])
def test_a_title_style_that_cannot_be_filled_is_refused(style):
    with pytest.raises(ValidationError, match="title_style"):
        Settings(title_style=style)


def test_what_has_no_number_is_counted_by_the_piece():
    found = made(
        moment(1, 0, 60, 64, "black glass", find="1"),
        moment(2, 0, 65, 68, "pin", find="2"),
        moment(3, 0, 69, 75, "black glass", find="3"),
        moment(4, 0, 200, 230, "lead token", find="4"),
    )
    assert titles(found)[1] == "Two pieces of black glass and pin"


def said(*lines: tuple[float, str]) -> Transcript:
    """Sentences of three words a second at given seconds."""
    segments = []
    for start, text in lines:
        words = tuple(
            Word(start=start + i / 3, end=start + i / 3 + 0.3, word=word, probability=0.9)
            for i, word in enumerate(text.split())
        )
        segments.append(Segment(clip="one.mp4", start=start, end=words[-1].end, text=text, words=words))
    return Transcript(segments=tuple(segments))


SITE_TALK = (
    (100.0, "Let me say a quick word about where we are."),
    (104.0, "This is a protected site and you need a permit from the harbour office to walk on it at all."),
    (112.0, "High water was at seven, so by noon the tide will have covered every stone that you can see behind me."),
    (120.0, "There used to be a shipyard here, and what we find on the mud is mostly what it left behind."),
)
UNNAMED = (
    (200.0, "And what on earth is this?"),
    (203.0, "It is bone, it is flat, and it has a hole drilled through each end of it."),
    (210.0, "I have no idea, so tell me if you do."),
)


def with_talk(*lines: tuple[float, str], moments=()):
    here = tuple(m.model_copy(update={"clip": "one.mp4"}) for m in moments)
    return [(c.start, c.title, c.moments) for c in chapters(here, said(*lines), ONE_CLIP, SETTINGS)[1:]]


def test_talk_of_the_site_and_what_nobody_can_name_get_their_own():
    pin = moment(1, 0, 300, 320, "pin", find="1")
    assert with_talk(*SITE_TALK, *UNNAMED, moments=[pin]) == [
        (100, "The site", ()), (200, "Unidentified find", ()), (300, "Pin", ("m001",)),
    ]  # fmt: skip


def test_a_find_shown_in_that_talk_keeps_its_name():
    pin = moment(1, 0, 203, 210, "pin", find="1")
    assert [title for _, title, _ in with_talk(*UNNAMED, moments=[pin])] == ["Pin"]


def test_short_talk_of_the_site_gets_none():
    assert with_talk(*SITE_TALK[:2]) == []


def test_nothing_filmed_gives_nothing():
    assert chapters((), Transcript(), (), Settings()) == ()


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.floats(0, 600), st.floats(0.5, 90), st.sampled_from(list(Stance)),
            st.sampled_from(["pin", "pipe bowl", "creamware", None]), st.sampled_from([None, "1", "2", "3"]),
        ),
        max_size=25,
    ),
    st.integers(0, 8),
)  # fmt: skip
def test_whatever_happens_hosts_are_given_what_they_ask(rows, limit):
    moments = tuple(
        moment(i, 0, start, start + length, term, stance, find).model_copy(update={"clip": "one.mp4"})
        for i, (start, length, stance, term, find) in enumerate(rows)
    )
    found = chapters(moments, Transcript(), ONE_CLIP, Settings(chapter_limit=limit))
    rules = host_rules()
    assert found[0].start == 0
    assert found[-1].end == 600
    assert all(a.end == b.start for a, b in itertools.pairwise(found))
    assert all(c.end - c.start >= rules.shortest_s - 1e-6 for c in found)
    assert all(0 < len(c.title) <= rules.title_shown for c in found)
    assert not limit or len(found) <= limit
    ids = [i for c in found for i in c.moments]
    assert len(ids) == len(set(ids))
