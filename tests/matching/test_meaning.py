"""What the words of moments and rows say for each pair."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from episode.lexicon.packs import load_lexicon
from episode.matching.kinship import Kinship
from episode.matching.meaning import Meaning
from episode.matching.senses import Sense

KIN = Kinship(load_lexicon())
THINGS = st.dictionaries(
    st.sampled_from(["clay pipe", "button", "jug", "thimble"]), st.sampled_from([0.5, 1.0]), max_size=2
)
LABELS = st.frozensets(st.sampled_from(["copper alloy", "lead", "clay"]), max_size=2)
WORDS = st.frozensets(st.sampled_from(["rim", "green", "marrow", "edge", "flower"]), max_size=4)
SENSES = st.builds(
    Sense,
    things=THINGS,
    names=st.sampled_from([(), ("pipe stem",), ("buton",), ("jug", "a thing")]),
    materials=LABELS,
    implied=LABELS,
    makers=st.frozensets(st.sampled_from(["Thomas Marrow", "Ann Pell"]), max_size=1),
    periods=st.frozensets(st.sampled_from(["Tudor", "Roman"]), max_size=1),
    years=st.sampled_from([(None, None), (1500, 1600), (1700, None)]),
    words=WORDS,
    open=st.booleans(),
    numbers=st.frozensets(st.sampled_from(["7", "12"]), max_size=1),
)


@given(st.lists(SENSES, min_size=1, max_size=4), st.lists(SENSES, min_size=1, max_size=4))
def test_twice_the_same_moment_and_row_say_the_same(moments: list[Sense], rows: list[Sense]):
    once = Meaning(moments, rows, KIN)
    twice = Meaning([*moments, replace(moments[0])], rows, KIN)
    assert once.evidence.shape == once.likeness.shape == (len(moments), len(rows))
    assert np.array_equal(twice.likeness[-1], twice.likeness[0], equal_nan=True)
    assert np.array_equal(twice.evidence[-1], twice.evidence[0]) and np.isfinite(twice.evidence).all()


def test_what_speaks_for_a_pair_adds_up():
    bare = Sense({"button": 1.0}, ("button",), *[frozenset()] * 4, (None, None), frozenset())
    said = replace(bare, makers=frozenset({"Ann Pell"}), numbers=frozenset({"7"}), words=frozenset({"green"}))
    told = Meaning([bare, said], [bare, said], KIN).evidence
    assert told[1, 1] > told[1, 0] and told[1, 1] > told[0, 1]
    assert np.isclose(told[1, 1] - told[0, 1], 2.2 + 3.0 + 0.5 * np.log(3 / 1.5))


def test_nothing_against_nothing():
    assert Meaning([], [], KIN).evidence.shape == (0, 0)
    assert Meaning([], [Sense({}, (), *[frozenset()] * 4, (None, None), frozenset())], KIN).evidence.shape == (0, 1)
