"""Things named by what was said before. Sentences are invented; how they are counted is the file contract's."""

import pytest

from episode.models import How
from episode.spotting.spot import spot
from tests.spotting.saying import say


@pytest.mark.parametrize(
    ("lines", "heard"),
    [
        (("Here's a thimble, bent.", "And another one, right beside it."), "another one"),
        (("I've got a musket ball here.", "Same again!"), "Same again"),
        (("That's a loom weight.", "There's two more of them in the bank."), "two more of them"),
        (("Look, a clay pipe.", "Here's another, look."), "Here's another"),
    ],
)
def test_another_one_is_the_thing_last_spoken_of(words, lines, heard):
    first, second = spot(say(*lines), words)
    assert second.term == first.term
    assert heard.endswith(second.heard) or second.heard.endswith(heard)
    assert second.how is How.OTHER_NAME


@pytest.mark.parametrize(
    "lines",
    [
        ("Here's a thimble.", "I'll come back another day."),
        ("Here's a thimble.", "There's another musket ball."),
        ("We walked for an hour.", "And another one after that."),
        ("Here's a thimble.", "One more thing before we go."),
    ],
)
def test_another_day_and_another_ball_point_to_nothing(words, lines):
    assert [m.term for m in spot(say(*lines), words) if m.how is How.OTHER_NAME] == []


def test_what_was_named_long_ago_is_not_meant(words):
    assert [m.term for m in spot(say("Here's a thimble.", "And another one.", pause=120.0), words)] == ["thimble"]
