"""Stances as the file contract defines them, each with a near miss."""

import pytest

from episode.spotting.spot import spot
from tests.spotting.saying import say


def heard(words, *lines, **more):
    return [(m.term, str(m.stance)) for m in spot(say(*lines, **more), words)]


CASES = [
    # contract.md: "that's not a pin" and "no stem on it" are absent
    (["That's not a pin."], [("pin", "absent")]),
    (["There's no pipe stem on it."], [("pipe stem", "absent")]),
    (["No doubt this is a musket ball."], [("musket ball", "found")]),
    (["It's not only a coin, it's a lovely one."], [("coin", "found")]),
    (["There's no pipe stem on this pipe bowl."], [("pipe stem", "absent"), ("pipe bowl", "found")]),
    (["Not a pin but a bone comb."], [("pin", "absent"), ("bone comb", "found")]),
    (["No pins or buckles today."], [("pin", "absent"), ("buckle", "absent")]),
    (["It's a Codd bottle, missing its marble."], [("Codd bottle", "found"), ("marble", "absent")]),
    (["A Codd bottle without its stopper and marble."],
     [("Codd bottle", "found"), ("stopper", "absent"), ("marble", "absent")]),
    # "button... no" and "could be a loom weight?" are unsure
    (["A button... no, it's a cloth seal."], [("button", "unsure"), ("cloth seal", "found")]),
    (["Is that a button?", "No, it's a cloth seal."], [("button", "unsure"), ("cloth seal", "found")]),
    (["Could be a loom weight?"], [("loom weight", "unsure")]),
    (["This pipe bowl could be older."], [("pipe bowl", "found")]),
    (["I thought it was a coin but it's a token."], [("coin", "unsure"), ("token", "found")]),
    (["It's a musket ball, possibly a coin too."], [("musket ball", "found"), ("coin", "unsure")]),
    # hoped
    (["I'm hoping for a pilgrim badge today."], [("pilgrim badge", "hoped")]),
    (["Fingers crossed for a thimble or a pilgrim badge."], [("thimble", "hoped"), ("pilgrim badge", "hoped")]),
    (["I would love to find a piece of eight."], [("piece of eight", "hoped")]),
    (["I love this thimble."], [("thimble", "found")]),
    # compared
    (["It's like a little thimble."], [("thimble", "compared")]),
    (["It's about the size of a musket ball."], [("musket ball", "compared")]),
    (["I like this thimble."], [("thimble", "found")]),
    (["This bone comb is similar to a thimble."], [("bone comb", "found"), ("thimble", "compared")]),
    # earlier
    (["Here is the thimble I had last week."], [("thimble", "earlier")]),
    (["Now this one's from another day.", "It's a bone comb."], [("bone comb", "earlier")]),
    (["Made three hundred years ago, this thimble."], [("thimble", "found")]),
    # aside
    (["Codd bottles were made in Yorkshire."], [("Codd bottle", "aside")]),
    (["These Codd bottles were all together."], [("Codd bottle", "found")]),
    (["In those days a clay pipe was cheap."], [("clay pipe", "aside")]),
    (["This episode is sponsored by Harland and Pike.", "They sell a cracking thimble."],
     [("Harland and Pike", "aside"), ("thimble", "aside")]),
    # describing today's find further is found
    (["Here's a pipe bowl.", "The pipe bowl has a spur."], [("pipe bowl", "found"), ("pipe bowl", "found")]),
]  # fmt: skip


@pytest.mark.parametrize(("lines", "expected"), CASES)
def test_stances(words, lines, expected):
    assert heard(words, *lines) == expected


UNPUNCTUATED = [
    ("thats not a pin its a thimble", [("pin", "absent"), ("thimble", "found")]),
    ("ive got a pipe bowl here but no pipe stem", [("pipe bowl", "found"), ("pipe stem", "absent")]),
    ("a button no its a cloth seal", [("button", "unsure"), ("cloth seal", "found")]),
    ("looks a bit like a musket ball", [("musket ball", "compared")]),
    ("codd bottles were made in yorkshire", [("Codd bottle", "aside")]),
]


@pytest.mark.parametrize(("line", "expected"), UNPUNCTUATED)
def test_lower_case_captions(words, line, expected):
    assert heard(words, line) == expected


def test_the_closing_round_up_is_recap_until_something_new_turns_up(words):
    day = [
        "Here's a thimble.", "It was deep in the mud and took some getting out.", "And here's a bone comb.",
        "So today we've had a thimble and a bone comb.", "And no coin.", "The thimble was a joy.",
        "Oh hang on, what's this?", "Look at this, a musket ball.",
    ]  # fmt: skip
    assert heard(words, *day) == [
        ("thimble", "found"),
        ("bone comb", "found"),
        ("thimble", "recap"),
        ("bone comb", "recap"),
        ("coin", "absent"),
        ("thimble", "recap"),
        ("musket ball", "found"),
    ]


def test_a_round_up_cannot_open_the_day(words):
    day = ["So today we've got a permit.", "Here's a thimble.", *["And on we go along the shore."] * 8]
    assert heard(words, *day) == [("thimble", "found")]


def test_what_is_said_of_a_find_follows_it(words):
    assert heard(words, "There's no pewter thimble here.")[-1] == ("thimble", "absent")
    assert heard(words, "It's a bone comb, Georgian.") == [("bone comb", "found"), ("Georgian", "found")]
    assert heard(words, "Here's a thimble.", "It's Georgian.") == [("thimble", "found"), ("Georgian", "found")]
    assert heard(words, "A thimble.", "Georgian people loved tea.") == [("thimble", "found"), ("Georgian", "aside")]
