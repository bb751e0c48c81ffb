import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.models import Kind, LogEntry, Settings
from episode.spotting.dayterms import day_terms
from tests.spotting.saying import lexicon


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
