"""Marks against the worked examples of published tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.errors import UnusableInput
from episode.record.marks import read_mark


@pytest.mark.parametrize(
    ("said", "first", "last", "edtf"),
    [
        # Whitton's table: 1895 begins at 246975, 1896 at 268392; 1937 at 817293, 1938 at 825231.
        ("Rd 250000", 1895, 1895, "1895"),
        ("Rd 821265", 1937, 1937, "1937"),
        ("Rd. No. 821,265", 1937, 1937, "1937"),
        ("rd no 1", 1884, 1884, "1884"),
        ("Rd 930000", 1965, None, "1965/.."),
        # Lists differ: 1885 begins at 19754 in one and at 19756 in another.
        ("Rd 19755", 1884, 1885, "1884/1885"),
        ("Rd 19756", 1884, 1885, "1884/1885"),
    ],
)
def test_registered_numbers(said: str, first: int, last: int | None, edtf: str) -> None:
    mark = read_mark(said)
    assert mark is not None
    assert (mark.from_, mark.to, mark.edtf) == (first, last, edtf)
    assert mark.source and mark.cautions


@pytest.mark.parametrize(
    ("said", "first", "last", "edtf"),
    [
        ("diamond Q B 23 class IV", 1866, 1866, "1866-10-23"),
        ("diamond mark: G C 4 series 1", 1863, 1863, "1863-01-04"),
        ("diamond H C 4 series 2", 1869, 1869, "1869-01-04"),
        ("diamond X C 4", 1842, 1868, "1842/1868"),
        ("diamond D W 2 year at the right", 1878, 1878, "1878-03-02"),
        ("diamond W G 3 series 2", 1878, 1878, "1878-03-03"),
        ("diamond K R 12 series 1", 1857, 1857, "1857/1857"),
        ("diamond Q", 1866, 1866, "1866"),
    ],
)
def test_registration_diamonds(said: str, first: int, last: int, edtf: str) -> None:
    mark = read_mark(said)
    assert mark is not None
    assert (mark.from_, mark.to) == (first, last)
    assert mark.edtf == ("1857" if edtf == "1857/1857" else edtf)


def test_a_diamond_with_two_readings_says_so() -> None:
    mark = read_mark("diamond K R 12 series 1")
    assert mark is not None
    assert "12 August 1857 or 12 September 1857" in mark.says
    assert mark.cautions[0].startswith("More than one reading")
    assert "ceramics" in (read_mark("diamond Q B 23 class IV") or mark).says


def test_binfords_worked_example() -> None:
    # Wolverhampton Archaeology Group's worked example: 22 of 4/64, 42 of 5/64, 6 of 6/64; mean 4.77, year 1749.
    mark = read_mark("pipes 4:22 5:42 6:6")
    assert mark is not None
    assert "mean bore 4.77/64" in mark.says
    assert (mark.from_, mark.edtf) == (1749, "1749~")
    late = read_mark("pipes 4:40")
    assert late is not None and late.from_ == 1779
    assert read_mark("pipes 3:40").cautions[0].startswith("The formula fails after 1780")  # type: ignore[union-attr]


@pytest.mark.parametrize("said", ["Rd 0", "diamond J Q 40", "diamond X C 99", "pipes 4:x", "pipes 99:4", "pipes 4:0"])
def test_impossible_marks_are_errors_that_say_what_to_do(said: str) -> None:
    with pytest.raises(UnusableInput) as caught:
        read_mark(said)
    assert caught.value.remedy


@pytest.mark.parametrize("said", ["1872", "late 17th century", "road", "reddish", "a diamond", "pipe bowl", ""])
def test_other_words_are_no_marks(said: str) -> None:
    assert read_mark(said) is None


@given(st.text(max_size=60), st.sampled_from(["Rd ", "diamond ", "pipes ", ""]))
def test_any_mark_is_read_or_refused(text: str, lead: str) -> None:
    try:
        mark = read_mark(lead + text)
    except UnusableInput:
        return
    assert mark is None or mark.edtf
