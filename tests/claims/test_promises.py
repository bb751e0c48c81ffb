"""Promises, questions, thanks and disclosures, as said."""

from __future__ import annotations

import pytest

from episode.claims.promises import promises
from episode.models import Disclosures, Link, Settings, Stance
from tests.claims.saying import moment, transcript

SETTINGS = Settings(
    links=(
        Link(label="Orme and Tuttle, what is known", url="https://thessel.example/orme", about=("Orme and Tuttle",)),
    ),
    disclosures=Disclosures(sponsor="Quillsand Waders"),
    credits=("Dilys, for the lift",),
)


def said(*lines: str, term: str | None = "Codd bottle", stance: Stance = Stance.FOUND):
    spoken = transcript(*lines)
    return promises(spoken, (moment(spoken, term, stance=stance),), SETTINGS)


@pytest.mark.parametrize(
    ("line", "kind", "words"),
    [
        ("I'll put a link below to the tide tables.", "link", "the tide tables"),
        ("there's a link in the description for the museum", "link", "the museum"),
        ("I'll put the recipe for the polish in the description.", "detail", "the recipe for the polish"),
        (
            "I'll be reporting this one to the finds officer, and I'll put how you do that in the description.",
            "detail",
            "reporting this one to the finds officer",
        ),
        ("If you know what it is, let me know in the comments.", "question", "perhaps a Codd bottle"),
        ("Let me know in the comments who made it.", "question", "who made the Codd bottle?"),
        ("Does anyone know how old they are?", "question", "how old"),
        ("You may remember the buckle from the last episode.", "callback", "last episode"),
        ("Next week I'm over on the north shore, so come back for that.", "callback", "north shore"),
        ("And thank you to Dilys, for the lift.", "thanks", "Dilys, for the lift"),
        ("A big thank you to Quillsand Waders, who sponsored today.", "sponsor", "Quillsand Waders"),
        ("There's an exhibition at the museum on the 3rd of June.", "event", "3rd of June"),
    ],
)
@pytest.mark.parametrize("caption", [False, True])
def test_each_kind_is_found_once_with_what_is_owed(line: str, kind: str, words: str, caption: bool) -> None:
    found = said(line.lower().rstrip(".") if caption else line)
    assert [p.kind for p in found] == [kind]
    assert words.lower() in found[0].text.lower()
    assert found[0].moment == "m001" and found[0].end > found[0].start


def test_them_is_spelt_out_and_the_link_that_keeps_it_is_found() -> None:
    link = said("It says Orme and Tuttle, Thesselmouth.", "I'll put a link below to everything I know about them.")[0]
    assert link.text == "everything I know about Orme and Tuttle"
    assert link.kept and link.by == "https://thessel.example/orme"
    assert not said("I'll put a link below to the tide tables.")[0].kept


def test_sponsor_and_thanks_are_kept_by_the_settings() -> None:
    sponsor, thanks = said("Thanks to Quillsand Waders, who sponsored today.", "And thank you to Dilys, for the lift.")
    assert sponsor.kept and "Quillsand Waders" in (sponsor.by or "")
    assert thanks.kept and thanks.by == "Dilys, for the lift"
    assert not said("Thank you to Bram, for the flask.")[0].kept


@pytest.mark.parametrize(
    "line",
    [
        "Thanks for all the comments.",
        "The marble is missing a link of chain.",
        "I read it in the comments.",
        "It's down below the wall.",
        "That's a chain link.",
        "Thank goodness for that.",
        "Somebody dropped it here.",
        "What's this?",
    ],
)
def test_ordinary_talk_promises_nothing(line: str) -> None:
    assert said(line) == ()


def test_nothing_said_gives_nothing() -> None:
    assert promises(transcript("Hello."), (), Settings()) == ()


def test_a_name_heard_a_little_wrong_is_the_one_that_the_settings_hold() -> None:
    # As a recogniser wrote them on an invented day.
    thanks = said("And thank you to Dileys for the lift.")[0]
    assert thanks.kept and thanks.by == "Dilys, for the lift"
    sponsor = said("A big thank you to Quill San Waiters, who sponsored today.")[0]
    assert sponsor.text.startswith("Quillsand Waders") and sponsor.kept
    assert not said("And thank you to Dylan for the lift.")[0].kept
    other = said("A big thank you to Marsh and Sons Kettles, who sponsored today.")[0]
    assert "Quillsand" not in other.text
