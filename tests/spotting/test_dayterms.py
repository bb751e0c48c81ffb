import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.models import Kind, Link, LogEntry, Settings
from episode.spotting.dayterms import day_terms, expected
from episode.spotting.spot import spot
from tests.spotting.saying import lexicon, say


def terms(words, *objects, **more):
    log = [LogEntry(find=str(n), row=n + 2, object=text, **more) for n, text in enumerate(objects)]
    return [t.term for t in day_terms(log, Settings(), words)]


def test_the_logs_own_objects_makers_and_places(words):
    log = [LogEntry(find="1", row=2, object="Two ointment pots (broken)", maker="Tobias Wrenfield", place="Gull Hard")]
    found = day_terms(log, Settings(place="Skelby Sands, River Thessel"), words)
    assert [(t.term, t.kind) for t in found] == [
        ("ointment pots", Kind.OBJECT),
        ("Tobias Wrenfield", Kind.MAKER),
        ("Gull Hard", Kind.PLACE),
        ("Skelby Sands", Kind.PLACE),
        ("River Thessel", Kind.PLACE),
    ]
    assert {t.pack for t in found} == {"day"}


def test_makers_in_one_cell_their_towns_and_their_ampersands(words):
    log = [LogEntry(find="1", row=2, maker="Orme & Tuttle, Ltd; Wrenfield, Thesselmouth / Dabney Holt & Sons")]
    found = day_terms(log, Settings(), words)
    assert [(t.term, t.kind, t.also) for t in found] == [
        ("Orme & Tuttle", Kind.MAKER, ("Orme and Tuttle",)),
        ("Wrenfield", Kind.MAKER, ()),
        ("Thesselmouth", Kind.PLACE, ()),
        ("Dabney Holt & Sons", Kind.MAKER, ("Dabney Holt and Sons",)),
    ]


def test_what_the_settings_name_is_a_term_and_expected(words):
    link = Link(label="about them", url="https://x.example", about=("Orme and Tuttle", "mineral water makers"))
    told = Settings(place="Skelby Sands", links=(link,))
    found = day_terms([], told, words)
    assert [(t.term, t.kind) for t in found] == [("Skelby Sands", Kind.PLACE), ("Orme and Tuttle", Kind.MAKER)]
    day = lexicon(*found)
    said = say("Here at Skelby Sands it says Orme and Tuttle.")
    plain, raised = spot(said, day), spot(said, day, expected=expected(told))
    assert [m.term for m in plain] == [m.term for m in raised] == ["Skelby Sands", "Orme and Tuttle"]
    assert all(more.score >= less.score for more, less in zip(raised, plain, strict=True))


def test_what_the_lexicon_names_is_left_to_it(words):
    assert terms(words, "Thimble", "thimbles", "pipe-bowl", "bale seal") == []


@pytest.mark.parametrize(
    "rubbish",
    ["", "?", "unknown object", "ask Bea about this", "12345", "http://example.org/thimblette", "thing", "aaa" * 20,
     "=HYPERLINK(1)", "one two three four five six seven", "ferrule?", "blue and white"],
)  # fmt: skip
def test_rubbish_makes_no_term(words, rubbish):
    assert terms(words, rubbish) == []


@given(st.lists(st.text(max_size=40), max_size=4))
def test_any_cell_is_survived(cells):
    found = terms(lexicon(), *cells)
    assert len(set(found)) == len(found)
