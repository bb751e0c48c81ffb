from __future__ import annotations

import pytest

from episode.drafting.counting import counted, ordinal_in_words, plural, series, tally


@pytest.mark.parametrize(
    ("number", "name", "mass", "words"),
    [
        (1, "pin", False, "a pin"),
        (1, "onion bottle", False, "an onion bottle"),
        (2, "pipe bowl", False, "two pipe bowls"),
        (3, "knife", False, "three knives"),
        (1, "creamware", True, "a piece of creamware"),
        (12, "creamware", True, "twelve pieces of creamware"),
        (2, "piece of glass", False, "two pieces of glass"),
        (2, "glass", False, "two glasses"),
        (2, "Codd bottle", False, "two Codd bottles"),
        (1, "scissors", False, "scissors"),
    ],
)
def test_counted(number, name, mass, words):
    assert counted(number, name, mass=mass) == words


def test_what_is_plural_already_stays():
    assert plural("scissors") == "scissors"


def test_series_and_tally():
    assert series([]) == ""
    assert series(["a pin"]) == "a pin"
    assert series(tally([("pin", False), ("token", False), ("pin", False)])) == "two pins and a token"


def test_ordinals():
    assert [ordinal_in_words(n) for n in (2, 3, 21)] == ["second", "third", "twenty-first"]
