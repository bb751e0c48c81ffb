"""Everyday senses are left alone; the same words in find talk are not (common practice, no source)."""

import pytest

from episode.models import LogEntry
from episode.spotting.spot import spot
from tests.spotting.saying import say

PAIRS = [
    ("I can't pin down a date for it.", "There's a pin here, look."),
    ("It was pinned to the board.", "I've found two pins."),
    ("I'd make three points about this.", "It's a copper alloy point."),
    ("Push the button on the camera.", "Here's a lovely button."),
    ("Hit the subscribe button below.", "Ooh, a livery button... is that a button?"),
    ("I can't bear it any longer.", "It's a little lead bear."),
    ("Buckle up, here we go.", "Here's half a buckle."),
    ("Lovely marble floor in there.", "Here's a little glass marble."),
    ("That would seal the deal.", "It's a lead seal, look."),
    ("To coin a phrase, it's lovely.", "Look, a coin."),
    ("Does that ring a bell, look?", "It's a little brass bell."),
    ("Look, give me a ring later.", "I've got a gold ring."),
    ("It's in the bowl of my hand.", "I've got a bowl, look."),
    ("By the same token, it's old.", "It's a pub token."),
    ("The tide will lead us back.", "It's made of lead."),
    ("The grey seal popped up, look.", "Found a seal, a broken one."),
]


@pytest.mark.parametrize(("everyday", "find"), PAIRS)
def test_everyday_use_is_no_mention_and_a_find_is(words, everyday, find):
    assert [m.term for m in spot(say(everyday), words)] == []
    assert spot(say(find), words)


def test_a_short_common_name_needs_support(words):
    assert spot(say("We walked as far as the bell and sat."), words) == ()
    near = spot(say("I've found a bell.", "We walked on with the bell and sat."), words)
    assert [m.term for m in near] == ["bell", "bell"]
    log = (LogEntry(find="3", row=4, object="Bell"),)
    assert [m.term for m in spot(say("We walked as far as the bell and sat."), words, log)] == ["bell"]


def test_the_log_does_not_excuse_an_everyday_use(words):
    log = (LogEntry(find="3", row=4, object="pin"),)
    assert spot(say("I can't pin down a date."), words, log) == ()
