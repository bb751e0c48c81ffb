"""Near spelling: what a recogniser makes of trade names, and what must not become one."""

import pytest

from episode.models import How
from episode.spotting.near import sound_key
from episode.spotting.spot import spot
from tests.spotting.saying import say


@pytest.mark.parametrize(
    ("line", "term", "heard"),
    [
        ("We found western old stoneware here.", "Westerwald stoneware", "western old stoneware"),
        ("It's a bell armin jar, look.", "bellarmine jar", "bell armin jar"),
        ("That's a hypocostile.", "hypocaust tile", "hypocostile"),
        ("Two hypocost tiles here.", "hypocaust tile", "hypocost tiles"),
        ("Look, a muskit ball.", "musket ball", "muskit ball"),
        ("Here's a pilgram badge.", "pilgrim badge", "pilgram badge"),
    ],
)
def test_near_spellings_are_spotted(words, line, term, heard):
    (mention,) = spot(say(line), words)
    assert (mention.term, mention.heard, mention.how) == (term, heard, How.NEAR_SPELLING)
    assert 0 < mention.score < 0.75


@pytest.mark.parametrize(
    "line",
    [
        "He had it patented, more or less.",
        "He took a tumble on the stones.",
        "The western shore is good.",
        "The old stone wall there.",
        "We walked past a school badge.",
        "The pilgrims came ashore here.",
        "That is a music ball.",
        "A nice basket and a ball.",
        "I buckled my belt.",
        "It gets better and better all the time.",
        "Look at that bottle bank over there.",
    ],
)
def test_ordinary_words_do_not_become_trade_words(words, line):
    assert [m.term for m in spot(say(line), words) if m.how is How.NEAR_SPELLING] == []


def test_short_names_are_never_near(words):
    assert spot(say("I found a pim and a butten and a cone."), words) == ()


def test_the_key_merges_what_recognisers_confuse():
    assert sound_key("hypocaust") == sound_key("hypocost")
    assert sound_key("codd") == sound_key("cot")
    assert sound_key("thimble") != sound_key("symbol")
