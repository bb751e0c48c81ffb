import pytest

from episode.lexicon.packs import load_lexicon
from episode.matching.moments import moments
from episode.models import Stance
from tests.matching.helpers import clip, talk
from tests.matching.simulate import vocabulary

LEXICON = vocabulary()


def grouped(*lines):
    transcript, mentions = talk(*lines)
    return moments(mentions, transcript, (clip(),), LEXICON)


def test_a_guess_taken_back_leaves_one_moment():
    (one,) = grouped(
        (10, "Is it a button?", ("button", "button", "object", "unsure")),
        (12, "No, it's a cloth seal!", ("cloth seal", "cloth seal", "object", "found")),
    )
    assert (one.term, one.stance) == ("cloth seal", Stance.FOUND)
    assert [m.term for m in one.mentions] == ["button", "cloth seal"]


def test_a_guess_that_leads_up_to_a_new_find_leaves_the_one_before():
    first, second = grouped(
        (10, "That's a pin.", ("pin", "pin", "object", "found")),
        (12, "A button?", ("button", "button", "object", "unsure")),
        (14, "No, it's a cloth seal!", ("cloth seal", "cloth seal", "object", "found")),
    )
    assert [m.term for m in first.mentions] == ["pin"]
    assert [m.term for m in second.mentions] == ["button", "cloth seal"]


def test_parts_absent_and_likeness_stay_with_the_find():
    (one,) = grouped(
        (10, "It's a pipe bowl.", ("pipe bowl", "pipe bowl", "object", "found")),
        (12, "Tiny, like a thimble.", ("thimble", "thimble", "object", "compared")),
        (14, "There's no stem on it.", ("stem", "pipe stem", "object", "absent")),
    )
    assert one.term == "pipe bowl"
    assert len(one.mentions) == 3


def test_broader_then_narrower_is_one_thing_named_by_the_narrower():
    (one,) = grouped(
        (10, "It's a buckle.", ("buckle", "buckle", "object", "found")),
        (12, "It's a shoe buckle.", ("shoe buckle", "shoe buckle", "object", "found")),
    )
    assert one.term == "shoe buckle"


def test_a_new_object_begins_a_new_moment_and_a_second_one_of_its_sort_does_too():
    terms = grouped(
        (10, "It's a pin.", ("pin", "pin", "object", "found")),
        (14, "And an aglet.", ("aglet", "aglet", "object", "found")),
        (18, "And another aglet.", ("aglet", "aglet", "object", "found")),
    )
    assert [m.term for m in terms] == ["pin", "aglet", "aglet"]


def test_one_shown_from_another_day_is_kept_apart():
    first, second = grouped(
        (10, "It's a bellarmine.", ("bellarmine", "bellarmine", "ware", "found")),
        (13, "It goes with this creamware from last week.", ("creamware", "creamware", "ware", "earlier")),
    )
    assert (first.stance, second.stance) == (Stance.FOUND, Stance.EARLIER)


def test_the_tease_belongs_to_the_find_across_a_stoop_but_not_across_the_find_before():
    first, second = grouped(
        (10, "It's a pin.", ("pin", "pin", "object", "found")),
        (20, "Hang on, what's this?"),
        (25.5, "Give me a second."),
        (27, "It's a thimble.", ("thimble", "thimble", "object", "found")),
    )
    assert second.start == 20
    assert first.end < 20
    assert first.start == 10


def test_the_walk_back_ends_at_twenty_five_seconds():
    (one,) = grouped(
        *((at, "Hang on, what's this then, I wonder.") for at in range(10, 60, 2)),
        (60, "It's a pin.", ("pin", "pin", "object", "found")),
    )
    assert 35 <= one.start <= 38


def test_talk_afresh_after_a_pause_leads_up_to_the_find():
    first, second = grouped(
        (10, "It's a pin.", ("pin", "pin", "object", "found")),
        (12, "Bent, and with something of a twist to it."),
        (22, "Bit of metal here."),
        (24, "Flat and round."),
        (26, "It's a button.", ("button", "button", "object", "found")),
    )
    assert (first.start, second.start) == (10, 22)


def test_leave_taking_at_the_head_of_a_stretch_is_not_of_the_find():
    (one,) = grouped(
        (10, "Right then, let's move on."),
        (13, "Bit of metal here."),
        (16, "It's a button.", ("button", "button", "object", "found")),
    )
    assert one.start >= 13


def test_a_denomination_goes_before_a_way_of_making():
    hammered, sixpence = (("hammered coin",) * 2, ("sixpence",) * 2)
    transcript, mentions = talk(
        (10, "It's a hammered coin.", (*hammered, "object", "found")),
        (12, "A proper hammered coin, a sixpence.", (*hammered, "object", "found"), (*sixpence, "object", "found")),
    )
    (one,) = moments(mentions, transcript, (clip(),), load_lexicon())
    assert one.term == "sixpence"


def test_round_up_and_wishes_are_kept_but_are_no_finds():
    wish, recap = grouped(
        (10, "I hope for a sixpence today.", ("sixpence", "sixpence", "object", "hoped")),
        (
            200,
            "We had the pin and the thimble.",
            ("pin", "pin", "object", "recap"),
            ("thimble", "thimble", "object", "recap"),
        ),
    )
    assert (wish.stance, recap.stance) == (Stance.HOPED, Stance.RECAP)
    assert len(recap.mentions) == 2


def test_facts_about_its_type_stay_with_the_find_and_other_history_does_not():
    found, other = grouped(
        (10, "It's a cloth seal.", ("cloth seal", "cloth seal", "object", "found")),
        (12, "Cloth seals were put on every bolt.", ("Cloth seals", "cloth seal", "object", "aside")),
        (15, "My uncle collects spoons.", ("spoons", "spoon", "object", "aside")),
    )
    assert len(found.mentions) == 2
    assert other.stance is Stance.ASIDE


def test_material_in_front_of_the_name_is_in_the_title_and_the_still_follows_the_naming():
    (one,) = grouped(
        (10, "It's a pewter spoon.", ("pewter", "pewter", "material", "found"), ("spoon", "spoon", "object", "found"))
    )
    assert one.title == "pewter spoon"
    assert one.mentions[-1].start <= one.still_at <= one.mentions[-1].start + 2


@pytest.mark.parametrize("stance", ["found", "unsure", "earlier"])
def test_each_find_stance_makes_a_moment(stance):
    (one,) = grouped((10, "It may be a loom weight.", ("loom weight", "loom weight", "object", stance)))
    assert one.stance.value == stance
