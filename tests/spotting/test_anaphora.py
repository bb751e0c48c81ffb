"""Words that stand for what was named before; every rule with a near miss."""

import pytest

from episode.models import How
from episode.spotting.spot import spot
from tests.spotting.saying import join, lexicon, say, term

MORE = lexicon(term("bottle seal", broader="Codd bottle"), term("brooch"), term("knee brooch", broader="brooch"))


def heard(*lines):
    return [(m.heard, m.term, str(m.stance)) for m in spot(say(*lines), MORE)]


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (["It's a thimble.", "And here's another one, over by the post."], ("another one", "thimble", "found")),
        (["It's a thimble.", "Same again."], ("Same again", "thimble", "found")),
        (["It's a musket ball.", "I haven't seen any since the spring tides."], ("any", "musket ball", "absent")),
        (["It's a musket ball.", "There's two more of them under the weed."],
         ("two more of them", "musket ball", "found")),
        (["It's a musket ball.", "My uncle's got a whole tin of those at home."], ("those", "musket ball", "aside")),
    ],
)  # fmt: skip
def test_words_stand_for_the_thing_last_in_talk(lines, expected):
    assert heard(*lines)[-1] == expected


@pytest.mark.parametrize(
    "line",
    [
        "Another thing I like is the quiet.",
        "I'll never do that again.",
        "That's another story altogether.",
        "I haven't got any batteries.",
        "There's more of the path to go.",
    ],
)
def test_other_uses_stand_for_nothing(line):
    assert [m[1] for m in heard("It's a thimble.", line)] == ["thimble"]


def test_what_is_denied_is_not_in_talk():
    assert [m[1] for m in heard("That's not a thimble.", "Here's another one.")] == ["thimble"]


def test_too_long_ago_stands_for_nothing():
    late = say("Here's another one.", start=120.0)
    assert [m.term for m in spot(join(say("It's a thimble."), late), MORE)] == ["thimble"]


def test_a_short_name_is_the_longer_one_named_before():
    mentions = spot(say("It's a bottle seal.", "Look, the seal's got a lovely crest."), MORE)
    assert [m.term for m in mentions] == ["bottle seal", "bottle seal"]
    assert mentions[1].how is How.OTHER_NAME


def test_a_wider_name_is_left_as_it_was_said():
    assert [m[1] for m in heard("It's a knee brooch.", "The pin on the brooch is bent.")][-1] == "brooch"


def test_a_new_one_of_the_short_name_is_its_own():
    assert [m[1] for m in heard("It's a bottle seal.", "And next to it is a seal made of lead.")][1] == "seal"
