"""What tells one row from another that is named alike, and the logs that people keep at the water's edge."""

import pytest

from episode.lexicon.book import Lexicon
from episode.matching.match import match
from episode.models import Kind, Term
from tests.matching.helpers import clip, row, talk
from tests.matching.simulate import vocabulary
from tests.matching.test_match import found, run

LEXICON = Lexicon(
    [
        *vocabulary().terms,
        Term(term="bronze", kind=Kind.MATERIAL),
        Term(term="silver", kind=Kind.MATERIAL),
        Term(term="victorian", kind=Kind.PERIOD),
        Term(term="medieval", kind=Kind.PERIOD),
        Term(term="Orme and Daughters", kind=Kind.MAKER),
        Term(term="Pellow", kind=Kind.MAKER),
    ]
)


def which(line, log):
    transcript, mentions = talk(line)
    (moment,) = match(mentions, transcript, log, (clip(),), LEXICON).moments
    return moment.find, moment.why


SAID = {
    "material": ("Here's a button. It's silver.", ("silver", "silver", "material", "found"), "the material agrees"),
    "maker": (
        "Here's a button. It's by Pellow.",
        ("Pellow", "Pellow", "maker", "found"),
        "the maker agrees",
    ),
    "period": (
        "Here's a button. It's medieval.",
        ("medieval", "medieval", "period", "found"),
        "the period agrees",
    ),
}
ROWS = {
    "material": ({"material": "bronze"}, {"material": "silver"}),
    "maker": ({"maker": "Orme and Daughters"}, {"maker": "Pellow"}),
    "period": ({"period": "victorian"}, {"period": "medieval"}),
}


@pytest.mark.parametrize("what", SAID)
@pytest.mark.parametrize("second", [True, False])
def test_of_two_rows_named_alike_the_one_that_agrees_is_taken(what, second):
    text, more, why = SAID[what]
    theirs = ROWS[what] if second else ROWS[what][::-1]
    log = [row(str(n), "button", None, n + 1, **cells) for n, cells in enumerate(theirs, start=1)]
    find, said = which((60, text, ("button", "button", "object", "found"), more), log)
    assert find == ("2" if second else "1")
    assert why in said


@pytest.mark.parametrize(
    ("text", "notes", "shared"),
    [
        ("Here's a button with an anchor and crown.", "anchor and crown", "anchor"),
        ("Here's a button marked 1887 on the back.", "backmark reads 1887", "1887"),
        ("Here's a button. 47 scratched on it.", "scratched number 47", "47"),
    ],
)
def test_a_mark_or_a_number_in_the_notes_tells_rows_apart(text, notes, shared):
    log = [row("1", "button", None, 2, notes="plain, no shank"), row("2", "button", None, 3, notes=notes)]
    find, why = which((60, text, ("button", "button", "object", "found")), log)
    assert find == "2"
    assert any("words in common" in said and shared in said for said in why)


def test_a_find_number_said_aloud_names_its_row():
    log = [row(str(n), "button", None, n + 1) for n in range(1, 5)]
    find, why = which((60, "That's find number 3, a button.", ("button", "button", "object", "found")), log)
    assert find == "3"
    assert "its number in the log is said aloud" in why


def test_two_alike_in_a_row_keep_their_order():
    lines = [found(60, "pin"), found(90, "pin"), found(300, "thimble"), found(500, "pin")]
    log = [row("1", "pin", None, 2), row("2", "pin", None, 3), row("3", "thimble", 5, 4), row("4", "pin", None, 5)]
    assert [m.find for m in run(lines, log).moments] == ["1", "2", "3", "4"]


def test_rows_typed_on_the_way_home_are_paired_by_order_and_name():
    names = ("pin", "thimble", "cloth seal", "marble", "spoon", "comb")
    lines = [found(60 + 90 * n, name) for n, name in enumerate(names)]
    log = [row(str(n), name, 180 + n / 6, n + 1) for n, name in enumerate(names, start=1)]
    result = run(lines, log)
    assert [m.find for m in result.moments] == ["1", "2", "3", "4", "5", "6"]
    assert not result.clocks[0].known
    assert "logged later, together with others" in result.clocks[0].basis


def test_a_clock_that_rests_on_one_find_owns_that_it_may_be_another():
    """One pin on film and two in the log, an hour apart: either may be it, and the interval reaches both."""
    result = run([found(60, "pin")], [row("1", "pin", 1.0, 2), row("2", "pin", 61.0, 3)])
    (clock,) = result.clocks
    assert not clock.known and "cannot be known" in clock.basis
    assert clock.error_s > 3500
    alone = run([found(60, "pin")], [row("1", "pin", 1.0, 2)]).clocks[0]
    assert not alone.known and 60 < alone.error_s < 600
    two = run([found(60, "pin"), found(200, "thimble")], [row("1", "pin", 1.0, 2), row("2", "thimble", 3.4, 3)]).clocks[
        0
    ]
    assert two.known and 20 < two.error_s < 80


def test_a_clock_without_a_pair_is_not_known():
    (clock,) = run([found(60, "pin")], [row("1", "thimble", 2000.0, 2)]).clocks
    assert not clock.known and clock.error_s is None and clock.offset_s == 0
    assert "the camera's own time was kept" in clock.basis
