"""Dates that only begin, against the first year that the record gives."""

from __future__ import annotations

import pytest

from tests.claims.saying import claims


@pytest.mark.parametrize(
    ("said", "term", "edtf", "verdict"),
    [
        # Curtin 2010: pearlware from 1780 to 1830. Cambridge Archaeology Field Group 2012: clay pipes from the 1570s.
        ("Pearlware was made from about 1780.", "pearlware", "1780~/..", "supported"),
        ("pearlware was made in staffordshire from the 1780s", "pearlware", "1780/..", "supported"),
        ("Pearlware was made from about 1800.", "pearlware", "1800~/..", "imprecise"),
        ("Pearlware was made from 1850.", "pearlware", "1850/..", "contradicted"),
        ("Clay pipes were smoked from 1570.", "clay pipe", "1570/..", "supported"),
        ("They were smoking these from the 1680s.", "clay pipe", "1680/..", "imprecise"),
    ],
)
def test_the_beginning_of_a_type_is_open_and_weighed_by_its_first_year(said, term, edtf, verdict) -> None:
    found = [c for c in claims(said, term=term) if c.kind == "date"]
    assert [(c.edtf, c.to, c.verdict.value) for c in found] == [(edtf, None, verdict)]


@pytest.mark.parametrize(
    ("said", "years"),
    [
        ("This one was made from about 1800.", (1790, 1810)),
        ("This one is from the 1820s.", (1820, 1829)),
        ("It was made from the 1780s to the 1830s.", (1780, 1839)),
        ("It was made in the 1780s.", (1780, 1789)),
        ("This pattern was made from the 1780s until 1820.", (1780, 1820)),
    ],
)
def test_a_date_of_the_object_and_a_range_keep_their_ends(said: str, years: tuple[int, int]) -> None:
    found = [c for c in claims(said, term="pearlware") if c.kind == "date"]
    assert [(c.from_, c.to) for c in found] == [years]


@pytest.mark.parametrize(
    ("said", "verdict"),
    [
        # Lockhart: Codd's British patents 3070 of 24 November 1870 and 2212 of 22 August 1871.
        ("That's patent no. 1870/3070.", "supported"),
        ("it's patent number 1871/2212", "supported"),
        ("That's patent no. 1822/3070.", "contradicted"),
    ],
)
def test_a_patent_cited_year_first_gives_its_year(said: str, verdict: str) -> None:
    found = [c for c in claims(said, term="Codd bottle") if c.kind == "date"]
    assert [(c.aspect, c.verdict.value) for c in found] == [("patent", verdict)]
