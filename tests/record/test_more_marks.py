"""Regnal years, mean ceramic dates, patents, coin legends and hallmarks against worked examples."""

from __future__ import annotations

from itertools import pairwise

import pytest
from edtf import parse_edtf
from hypothesis import given
from hypothesis import strategies as st

from episode.errors import UnusableInput
from episode.record.marks import read_mark
from episode.record.reading import Mark
from episode.record.reigns import reigns


def mark(said: str) -> Mark:
    found = read_mark(said)
    assert found is not None, said
    return found


@pytest.mark.parametrize(
    ("said", "edtf"),
    [
        # Seventeenth Century Info, Regnal Years: the second year of Charles I, and a lease of 29 September in it.
        ("2 Charles I", "1626-03-27/1627-03-26"),
        ("29 September 2 Charles I", "1626-09-29"),
        ("1 Charles II", "1649-01-30/1650-01-29"),
        # British Sundial Society's converter: its example of 3 June in the ninth year of Charles I.
        ("3rd June 9 Charles I", "1633-06-03"),
        # ancestrysolutions.com, regnal year calculator: its example of 1 June 1 Elizabeth I.
        ("1 June 1 Elizabeth I", "1559-06-01"),
        # University of Nottingham's guide, as copied: papers of Charles II's first year on the throne say 12 Charles II.
        ("12 Car. II", "1660-01-30/1661-01-29"),
        ("12 Elizabeth I", "1569-11-17/1570-11-16"),
        ("12 Eliz", "1569-11-17/1570-11-16"),
        ("10 February 27 Elizabeth", "1585-02-10"),
        ("64 Victoria", "1900-06-20/1901-01-22"),
    ],
)
def test_regnal_years(said: str, edtf: str) -> None:
    found = mark(said)
    assert found.kind == "regnal year"
    assert found.edtf == edtf
    assert (found.from_, found.to) == (int(edtf[:4]), int(edtf.split("/")[-1][:4]))


def test_charles_the_seconds_years_are_explained() -> None:
    assert any("father's death" in c for c in mark("12 Charles II").cautions)
    assert any("not yet on the throne" in c for c in mark("3 Charles II").cautions)


@pytest.mark.parametrize("said", ["70 Victoria", "0 Victoria", "5 John", "31 June 2 Charles I"])
def test_years_that_nobody_reigned(said: str) -> None:
    with pytest.raises(UnusableInput) as caught:
        read_mark(said)
    assert caught.value.remedy


@pytest.mark.parametrize("said", ["12 Edward VIII", "2 pounds", "12 years", "20 quid", "3 Charles"])
def test_other_numbers_are_no_regnal_years(said: str) -> None:
    assert read_mark(said) is None


def test_every_regnal_year_begins_where_the_one_before_ended() -> None:
    reign = reigns()["george iii"]
    ends = [mark(f"{n} George III").edtf.split("/") for n in range(1, 61)]
    assert ends[0][0] == "1760-10-25" and reign.first == (1760, 10, 25)
    assert ends[-1][1] == "1820-01-29"
    assert all(int(b[0][:4]) == int(a[0][:4]) + 1 for a, b in pairwise(ends))


def test_souths_worked_example() -> None:
    # DAACS Open Academy, Mean Ceramic Dates: midpoints 1770, 1800, 1820 with 21, 17 and 36 sherds.
    found = mark("mcd 1770:21 1800:17 1820:36")
    assert "mean ceramic date 1801.2" in found.says
    assert (found.from_, found.edtf) == (1801, "1801~")
    assert any("no terminus post quem" in c for c in found.cautions)
    # Its exercise, 132, 80 and 0 sherds; the sum is (1770 x 132 + 1800 x 80) / 212.
    assert "1781.3" in mark("mean ceramic date 1770:132, 1800:80, 1820:0").says


def test_the_terminus_post_quem_stands_beside_the_mean() -> None:
    # Curtin 2010 and South 1977: creamware 1762 to 1820, pearlware 1780 to 1830.
    found = mark("ceramics creamware:21, pearlware:17")
    assert "mean ceramic date 1797.3" in found.says
    assert "not laid down before 1780 (pearlware)" in found.says
    mixed = mark("ceramics 1600-1650:90 1780-1830:10")
    assert "mixed" in mixed.cautions[0]


@pytest.mark.parametrize("said", ["mcd 1770:0", "mcd 1820-1762:4", "mcd nonesuch ware:4", "mcd :4"])
def test_sherds_that_cannot_be_counted(said: str) -> None:
    with pytest.raises(UnusableInput) as caught:
        read_mark(said)
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("said", "first", "last"),
    [
        # econterms.net, Great Britain's Patent Office: GB-1897-10811 is written 10811/97; GB-1913-22125.
        ("patent 10811/97", 1897, 1897),
        ("Pat. No. 22125/13", 1913, 1913),
        # Lockhart and Starr: Codd's first patent is No. 3,070 of 1870.
        ("patent 3,070 of 1870", 1870, 1870),
        ("patent 1870/3070", 1870, 1870),
        ("patent 1871/2,212", 1871, 1871),
        # British Library: numbers ran from 1 of 1617 to 14359 of September 1852; 2436596 is of the series of 1978 on.
        ("patent 14359", 1617, 1915),
        ("patent 14360", 1852, 1915),
        ("GB patent 2436596", 1978, None),
        ("patent 345678", 1916, None),
    ],
)
def test_patent_numbers(said: str, first: int, last: int | None) -> None:
    found = mark(said)
    assert (found.kind, found.from_, found.to) == ("patent number", first, last)


@pytest.mark.parametrize("said", ["patent 10811/33", "patent 99999 of 1930", "patent 0", "patent 14360 of 1700"])
def test_patent_numbers_that_no_year_has(said: str) -> None:
    with pytest.raises(UnusableInput):
        read_mark(said)


@pytest.mark.parametrize(
    ("said", "first", "last"),
    [
        # Jewitt and Head 1886 give these legends under Charles II, Elizabeth, George II, III and IV.
        ("legend CAROLVS II D G MAG BRI FRA ET HIB REX", 1660, 1685),
        ("legend ELIZABETH D G ANG FRA ET HIB REGINA", 1558, 1603),
        ("legend Georgius II Rex", 1727, 1760),
        ("coin legend GEORGIVS III DEI GRATIA", 1760, 1820),
        ("inscription GEORGIVS IIII D G BRITANNIAR F D", 1820, 1830),
        # Morrieson: James I was King of Great Britain on coins after 20 October 1604.
        ("legend IACOBVS D G MAG BRIT FRA ET HIB REX", 1604, 1625),
        ("legend EDWARD R ANGL DNS HYB", 1272, 1483),
    ],
)
def test_coin_legends(said: str, first: int, last: int) -> None:
    found = mark(said)
    assert (found.kind, found.from_, found.to) == ("coin legend", first, last)


def test_legends_from_memory_say_so() -> None:
    assert any("from memory" in c for c in mark("legend VICTORIA DEI GRATIA").cautions)
    assert not any("from memory" in c for c in mark("legend CAROLVS II").cautions)
    with pytest.raises(UnusableInput, match="no English or British sovereign"):
        read_mark("legend LVDOVICVS XIV")


def test_hallmarks_go_only_as_far_as_a_source() -> None:
    # Ciceri: London's sixteenth cycle runs 1776 to 1795, of twenty letters a to u without j.
    assert (mark("hallmark London a 1776").from_, mark("hallmark London u 1776").from_) == (1776, 1795)
    assert mark("hallmark Chester").to == 1962
    assert mark("assay office Birmingham").from_ == 1773
    for said in ("hallmark London c", "hallmark London j 1776", "hallmark Sheffield c 1830", "hallmark Exeter"):
        with pytest.raises(UnusableInput) as caught:
            read_mark(said)
        assert caught.value.remedy


@given(
    st.text(max_size=50),
    st.sampled_from(["patent ", "legend ", "hallmark ", "mcd ", "ceramics ", "12 ", "1 May 12 ", "hallmark London "]),
)
def test_any_of_these_is_read_or_refused(text: str, lead: str) -> None:
    try:
        found = read_mark(lead + text)
    except UnusableInput:
        return
    if found is not None:
        parse_edtf(found.edtf)
