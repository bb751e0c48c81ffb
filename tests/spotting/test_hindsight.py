"""What a sentence near by says about a stance. Sentences are invented; how stances count is the file contract's."""

import pytest

from episode.spotting.spot import spot
from tests.spotting.saying import say


@pytest.mark.parametrize(
    ("stance", "lines"),
    [
        ("unsure", ["That's a thimble.", "It isn't."]),
        ("found", ["That's a thimble.", "It isn't as old as yours."]),
        ("hoped", ["I'd love a pilgrim badge.", "Or a thimble, any thimble."]),
        ("found", ["It's a coin.", "And a thimble, look."]),
        ("compared", ["It looks like a thimble.", "It's a bone comb."]),
        ("unsure", ["It looks like a thimble.", "I can't get the mud off."]),
    ],
)
def test_the_sentences_around_decide(words, stance, lines):
    assert [m.stance for m in spot(say(*lines), words) if m.term == "thimble"] == [stance]
