"""The opening paragraph: read as a person wrote it, and every sentence of it resting on something of the day."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.drafting.daytalk import boast, day_talk
from episode.drafting.description import draft, size
from episode.drafting.result import DayResult
from episode.models import Disclosures, Stance, Verdict
from episode.review.draft_lines import draft_lines
from tests.drafting.invented import CLIPS, LOG, MOMENTS, SETTINGS, claim, day, transcript

FIRST = (0, 3, "Morning all.")


def said(*lines: str, **changes: object) -> DayResult:
    """A day on which only these sentences were said, ten seconds apart, and nothing shown."""
    words = tuple((0, 3 + 10 * k, line) for k, line in enumerate(lines))
    made = day(transcript=transcript(words), claims=(), promises=(), **changes)
    return made.model_copy(update={"matched": made.matched.model_copy(update={"moments": ()})})


def with_settings(**changes: object) -> DayResult:
    return day(settings=SETTINGS.model_copy(update=changes))


def first_line(made: DayResult) -> str:
    return draft(made).text.splitlines()[0]


def test_it_says_when_where_who_what_the_tide_did_how_many_and_which():
    assert first_line(day()) == (
        "On Sunday 3 May 2026 Ada Marsh was at Skelby Sands, with the tide turning at half past ten. "
        "Fourteen finds are shown, among them a pipe bowl, a piece of creamware, a lead token, a Codd bottle, a piece "
        "of transfer-printed ware, a bone toggle and a thimble. Two of the fourteen nobody could name. "
        "Also shown, from other days: a Bellarmine."
    )


def test_what_is_not_known_is_not_said():
    assert first_line(with_settings(presenter="", place="")).startswith("Filmed on Sunday 3 May 2026, with the tide")
    assert draft(DayResult()).text == "\n"


def test_a_private_place_is_no_place_to_name():
    told = first_line(with_settings(place="Eel Gut", private_places=("Eel Gut",)))
    assert "Eel" not in told and "withheld" not in told


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("We've got about two hours before the tide turns.", "with about two hours before the tide turned"),
        (
            "An hour and a half until the tide comes back in, so go.",
            "with an hour and a half before the tide came back",
        ),
        ("There's only 40 minutes till low water.", "only 40 minutes before low water"),
        ("Low tide is at quarter past seven.", "with low water at quarter past seven"),
        ("High water will be just after noon, mind.", "with high water just after noon"),
        ("You usually have two hours before the tide turns.", None),
        ("Last week we had two hours before the tide turned.", None),
        ("Have we got two hours before the tide turns?", None),
        ("The tide took my bucket.", None),
    ],
)
def test_the_tide_as_it_was_said(words, told):
    tide = day_talk(said(words)).tide
    assert (tide.words if tide else None) == told


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("It's absolutely freezing out here.", "It was freezing"),
        ("What a glorious morning.", "It was a glorious morning"),
        ("It's really cold to the touch.", None),
        ("It's not raining for once.", None),
        ("It's always windy in this corner.", None),
    ],
)
def test_the_weather_as_it_was_said(words, told):
    weather = day_talk(said(words)).weather
    assert (weather.words if weather else None) == told


def test_it_is_cold_said_of_a_find_is_no_weather():
    shown = MOMENTS[0].model_copy(update={"clip": CLIPS[0].name, "start": 8.0, "end": 30.0, "stance": Stance.FOUND})
    made = said("Morning all.", "It's cold and heavy.")
    made = made.model_copy(update={"matched": made.matched.model_copy(update={"moments": (shown,)})})
    assert day_talk(made).weather is None


def test_the_favourite_and_what_was_claimed_of_it_and_by_whom():
    thimble = next(m for m in MOMENTS if m.term == "thimble")
    words = transcript(((0, 3, "Morning all."), (5, 40, "And my favourite, the thimble.")))
    made = day(transcript=words, claims=())
    naming = thimble.mentions[0].model_copy(
        update={"clip": CLIPS[5].name, "start": 41.2, "end": 41.6, "stance": Stance.RECAP}
    )
    recap = thimble.model_copy(
        update={"id": "m900", "clip": CLIPS[5].name, "start": 40, "end": 43, "stance": Stance.RECAP, "find": None,
                "mentions": (naming,)}
    )  # fmt: skip
    made = made.model_copy(update={"matched": made.matched.model_copy(update={"moments": (*MOMENTS, recap)})})
    assert "Ada Marsh's favourite is the thimble." in first_line(made)
    best = claim(
        30, thimble.id, "and it's the finest thing I have ever found here", "superlative", Verdict.UNREFERENCED
    )
    boasted = made.model_copy(update={"claims": (best,)})
    told = "Ada Marsh's favourite is the thimble, “the finest thing I have ever found here”."
    assert told in first_line(boasted)
    (rest,) = [r for r in draft(boasted).rests if r.line == told]
    assert (rest.claims, rest.moments, rest.within) == ((best.id,), (thimble.id,), True)
    assert rest.said == ((CLIPS[5].name, pytest.approx(40, abs=2)),)
    for changed in ({"struck": True}, {"verdict": Verdict.CONTRADICTED}):
        gone = made.model_copy(update={"claims": (best.model_copy(update=changed),)})
        assert "finest" not in draft(gone).text
    assert boast(best, unverified="leave out") == ""


def test_my_favourite_place_is_no_favourite_find():
    assert day_talk(said("This is my favourite spot for a thimble.")).favourite is None


def test_every_sentence_rests_on_something_and_the_page_shows_on_what():
    made = day()
    drafted = draft(made)
    made = made.model_copy(update={"description": drafted.text, "rests": drafted.rests})
    pieces = draft_lines(made)[0]
    assert " ".join(text for text, _ in pieces) == first_line(made)
    assert len(pieces) == 4 and all(marks for _, marks in pieces)
    assert ("heard", "../footage/hand/C0001.MP4#t=", "said at 0:06") in [
        (kind, address[:28], label[:12]) for kind, address, label in pieces[0][1]
    ]


def test_the_short_form_keeps_the_count_of_finds():
    owed = Disclosures(sponsor="Quillsand Waders", gifted=("one pair of waders",), permit="harbour permit")
    short = draft(with_settings(disclosures=owed, short_limit=300)).wordings["short.txt"]
    assert short.startswith("Fourteen finds at Skelby Sands on 3 May 2026, with Ada Marsh.\n")
    assert size(short) <= 300
    tight = draft(with_settings(disclosures=owed, short_limit=130)).wordings["short.txt"]
    assert tight.startswith("Filmed at Skelby Sands") or size(tight) <= 130


@pytest.mark.parametrize(("count", "told"), [(1, "One find is shown: a pipe bowl."), (3, "Three finds are shown: ")])
def test_few_finds_are_all_named(count, told):
    shown = tuple(m for m in MOMENTS if m.stance is Stance.FOUND and m.term)[:count]
    made = day()
    made = made.model_copy(update={"matched": made.matched.model_copy(update={"moments": shown})})
    assert told in first_line(made)


def test_all_set_aside_leaves_when_and_where():
    aside = tuple(m.model_copy(update={"stance": Stance.ASIDE, "find": None}) for m in MOMENTS)
    made = day()
    made = made.model_copy(update={"matched": made.matched.model_copy(update={"moments": aside}), "log": LOG})
    assert (
        first_line(made)
        == "On Sunday 3 May 2026 Ada Marsh was at Skelby Sands, with the tide turning at half past ten."
    )


@given(st.lists(st.text(max_size=60).filter(str.strip), min_size=1, max_size=4))
def test_whatever_is_said_breaks_nothing(lines):
    assert draft(said(*lines)).text.endswith("\n")
