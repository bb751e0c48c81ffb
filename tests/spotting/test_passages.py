"""Stances over several sentences, and the guesses, hopes and asides that people put in many ways."""

import pytest

from episode.spotting.spot import spot
from tests.spotting.saying import lexicon, say


def stance_of(name, *lines):
    return next(str(m.stance) for m in spot(say(*lines), lexicon()) if m.term == name)


@pytest.mark.parametrize(
    ("stance", "lines"),
    [
        ("unsure", ["I thought, hello, that's a thimble."]),
        ("unsure", ["I'd got it down as a thimble."]),
        ("unsure", ["She reckons it's a thimble."]),
        ("unsure", ["He's over there shouting that he's got a thimble."]),
        ("unsure", ["It's a thimble, I believe, but don't hold me to it."]),
        ("unsure", ["I was so sure it was a thimble."]),
        ("unsure", ["That's a thimble.", "It isn't."]),
        ("found", ["That's a thimble.", "It isn't as old as yours."]),
        ("found", ["I thought I'd show you this thimble."]),
        ("hoped", ["A thimble is what I want."]),
        ("hoped", ["I'd love a pilgrim badge.", "Or a thimble, any thimble."]),
        ("hoped", ["Come on, be a thimble."]),
        ("hoped", ["If that's a thimble, I'm packing it in."]),
        ("found", ["It's a coin.", "And a thimble, look."]),
        ("compared", ["A sort of thimble for a mouse."]),
        ("compared", ["It looks like a thimble.", "It's a bone comb."]),
        ("unsure", ["It looks like a thimble.", "I can't get the mud off."]),
        ("earlier", ["I had this thimble three tides ago."]),
        ("earlier", ["I've brought a thimble along to show you."]),
        ("earlier", ["This is the thimble that lives in my drawer."]),
        ("absent", ["The thimble's gone, sadly."]),
        ("absent", ["It can't be a thimble."]),
        ("aside", ["A lot of people ask me about thimbles."]),
        ("aside", ["My gran had a thimble."]),
        ("aside", ["When I was seven I lost a thimble."]),
        ("aside", ["A word from the people who paid for the petrol.", "Quill and Sons do trays.",
                   "There's one for your thimble."]),
        ("recap", ["Right, shall we tot up?", "One coin, a bell.", "My thimble, his button."]),
    ],
)  # fmt: skip
def test_stance_of_a_thimble(stance, lines):
    assert stance_of("thimble", *lines) == stance


def test_a_round_up_is_over_when_something_new_is_shown():
    said = say("It's a thimble.", "What have we had?", "The thimble.", "First one out.", "It's a musket ball.")
    assert [str(m.stance) for m in spot(said, lexicon())] == ["found", "recap", "found"]
