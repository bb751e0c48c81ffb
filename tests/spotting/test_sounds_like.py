"""Names told by their sound. Pronunciations: the Carnegie Mellon Pronouncing Dictionary, word by word."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.lexicon.packs import load_lexicon
from episode.lexicon.phones import LETTER, numbers
from episode.lexicon.sounds import sounds
from episode.models import How
from episode.spotting.distance import distances
from episode.spotting.listening import Question
from episode.spotting.spot import spot
from tests.spotting.saying import say


@pytest.fixture(scope="module")
def packs():
    return load_lexicon(None, ())


def spelt(*phones: str) -> str:
    return "".join(LETTER[phone] for phone in phones)


def test_known_words_sound_as_the_dictionary_says():
    # CMUdict 0.7b: POTTERY  P AA1 T ER0 IY0; BUTTON  B AH1 T AH0 N; CENTURY  S EH1 N CH ER0 IY0
    assert sounds(["pottery", "button", "century"]) == {
        "pottery": spelt("P", "AA", "T", "ER", "IY"),
        "button": spelt("B", "AH", "T", "AH", "N"),
        "century": spelt("S", "EH", "N", "CH", "ER", "IY"),
    }


def test_unknown_words_have_a_sound_and_numbers_are_read_out():
    found = sounds(["thesselmouth", "42", "?"])
    assert len(found["thesselmouth"]) >= 5
    assert found["42"] == sounds(["four"])["four"] + sounds(["two"])["two"]
    assert found["?"] == ""


def test_voicing_costs_less_than_another_place_and_nothing_is_nothing():
    said = [numbers(spelt(*phones)) for phones in (("P", "IH", "N"), ("B", "IH", "N"), ("L", "IH", "N"))]
    cost, _ = distances(said, [numbers(spelt("P", "IH", "N"))] * 3)
    assert cost[0] == 0
    assert 0 < cost[1] < cost[2]


class Ears:
    """Answers every question the same way, and remembers what was asked."""

    def __init__(self, ratio: float | None) -> None:
        self.ratio = ratio
        self.asked: list[Question] = []

    def __call__(self, questions):
        self.asked += questions
        return [self.ratio] * len(questions)


HEARD = "Look at this, it's a hippo cost isle, that one."
MEANT = "hypocaust tile"


def test_a_mangled_name_is_found_where_the_sound_agrees_and_not_where_it_denies_it(packs):
    yes, no = Ears(-1.0), Ears(-40.0)
    assert MEANT in {m.term for m in spot(say(HEARD), packs, listen=yes) if m.how is How.SOUNDS_LIKE}
    assert [m.term for m in spot(say(HEARD), packs, listen=no) if m.how is How.SOUNDS_LIKE] == []
    for question in yes.asked:
        assert question.end - question.start <= 10.5
        assert question.heard != question.instead


@pytest.mark.parametrize(
    ("line", "term"),
    [
        ("We found western old stoneware here.", "Westerwald stoneware"),
        ("It's a bell armin jar, look.", "Bellarmine jar"),
        ("That's a hypocostile.", "hypocaust tile"),
        ("Two hypocost tiles here.", "hypocaust tile"),
        ("Look, a muskit ball.", "musket ball"),
        ("Here's a pilgram badge.", "pilgrim badge"),
    ],
)
def test_strange_words_are_read_as_names_without_the_sound(packs, line, term):
    (mention,) = spot(say(line), packs)
    assert mention.term == term
    assert mention.how in (How.MISHEARING, How.NEAR_SPELLING, How.SOUNDS_LIKE)
    assert 0.5 < mention.score < 1


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
        "Here's a thimbleful of mud.",
    ],
)
def test_ordinary_words_do_not_become_names(packs, line):
    assert [m.term for m in spot(say(line), packs) if m.how in (How.NEAR_SPELLING, How.SOUNDS_LIKE)] == []


def test_the_same_talk_gives_the_same_mentions(packs):
    assert spot(say(HEARD), packs, listen=Ears(-3.0)) == spot(say(HEARD), packs, listen=Ears(-3.0))


@pytest.mark.parametrize(
    "talk",
    [
        "We walked down to the water and it was really cold this morning.",
        "Thanks for watching, see you next week then.",
    ],
)
def test_ordinary_talk_names_nothing_even_where_the_sound_would_say_yes(packs, talk):
    assert [m.term for m in spot(say(talk), packs, listen=Ears(-2.0)) if m.how is How.SOUNDS_LIKE] == []


@given(st.text(max_size=60))
def test_any_text_is_survived(packs, text):
    if text.split():
        spot(say(text), packs, listen=Ears(None))
