"""What a sentence's own figures, the calendar and the rest of the episode say against a claim."""

from __future__ import annotations

import pytest

from episode.models import Claim
from tests.claims.saying import claims


def dated(*lines: str, term: str = "Codd bottle") -> list[Claim]:
    return [c for c in claims(*lines, term=term) if c.kind in {"date", "period"}]


@pytest.mark.parametrize(
    ("said", "note"),
    [
        # Lockhart and Starr: Codd's first patent is of 24 November 1870; Python's own calendar makes it a Thursday.
        ("He had the patent on Tuesday the 24th of November 1870.", "was a Thursday, not a Tuesday"),
        ("The patent is dated 24 November 1870, a Friday.", "was a Thursday, not a Friday"),
        ("The works ran for sixty years, from 1780 to 1810.", "from 1780 to 1810 is 30 years, not 60"),
        ("He was born in 1838 and died in 1887, aged 60.", "from 1838 to 1887 is 49 years, not 60"),
        (
            "It's from 1720, so it's a hundred years old.",
            "“from 1720” is 1720, but “a hundred years old” is 1876 to 1976",
        ),
    ],
)
def test_what_does_not_add_up_is_said(said: str, note: str) -> None:
    assert any(note in c.note for c in dated(said)), [c.note for c in dated(said)]


@pytest.mark.parametrize(
    "said",
    [
        "He had the patent on Thursday the 24th of November 1870.",
        "The works ran for thirty years, from 1780 to 1810.",
        "He was born in 1838 and died in 1887, aged 48.",
        "It's from 1720, so it's three hundred years old.",
        "It's from 1720, found after two hundred years in the mud.",
    ],
)
def test_what_adds_up_is_left_alone(said: str) -> None:
    assert not any(" is " in n and "not" in n for c in dated(said) for n in c.note.split("; ") if "years, not" in n)
    assert not any("was a" in c.note or ", but “" in c.note for c in dated(said))


def test_two_dates_for_one_firm_name_each_other() -> None:
    first, second = dated(
        "Doulton started making in Lambeth in 1815.", "Doulton was founded in 1745, I think.", term="Doulton"
    )[:2]
    if first.aspect == second.aspect == "active":
        assert "elsewhere in the episode" in first.note
    founded = dated("Doulton was founded in 1815.", "Doulton was founded in 1745.", term="Doulton")
    assert ["elsewhere in the episode (a.mp4 at 0:" in c.note for c in founded] == [True, True]
    assert "it is 1745" in founded[0].note and "it is 1815" in founded[1].note


def test_two_dates_for_one_patent_name_each_other_unless_the_record_holds_both() -> None:
    wrong = dated("The Codd bottle was patented in 1870.", "The Codd bottle was patented in 1822.")
    assert all("elsewhere in the episode" in c.note for c in wrong)
    both = dated("The Codd bottle was patented in 1870.", "The Codd bottle was patented in 1871.")
    assert not any("elsewhere in the episode" in c.note for c in both)


def test_a_beginning_and_an_end_do_not_contradict_each_other() -> None:
    found = dated("Doulton was founded in 1815.", "Doulton closed in 1956.", term="Doulton")
    assert not any("elsewhere" in c.note for c in found)


def test_a_verdict_that_rests_on_the_convention_says_so() -> None:
    # Curtin 2010 and South 1977: pearlware from 1780 to 1830; circa is ten years, five or none by published rules.
    found = dated("This pearlware is about 1838.", term="pearlware")[0]
    assert "depends on the date convention" in found.note
    assert "historic-england" in found.note and "tate" in found.note
    steady = dated("This pearlware is from 1810.", term="pearlware")[0]
    assert "convention" not in steady.note
