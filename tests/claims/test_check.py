"""Planted errors that published facts catch, and true or open statements that must never be called wrong."""

from __future__ import annotations

import pytest
from edtf import parse_edtf
from hypothesis import given, settings
from hypothesis import strategies as st

from episode.models import LogEntry, Reference, Verdict
from episode.record.load import Record
from tests.claims.saying import claims

PLANTED = [
    # Lockhart and Starr: first British patent 24 November 1870; Munsey 2010: Codd lived 1838 to 1887.
    ("Hiram Codd took out his patent for the Codd bottle in eighteen twenty-two.", "Codd bottle", "contradicted"),
    ("Hiram Codd took out his patent for the Codd bottle in 1870.", "Codd bottle", "supported"),
    # The Barwicker 127: the old penny was no longer legal tender after 31 August 1971.
    ("You could spend a penny like this until nineteen seventy-five.", "penny", "contradicted"),
    ("The old penny was withdrawn in 1971.", "penny", "supported"),
    # Curtin 2010 and South 1977: pearlware 1780 to 1830, creamware 1762 to 1820.
    ("This pearlware was made in the sixteen nineties.", "pearlware", "contradicted"),
    ("Pearlware is all eighteenth century.", "pearlware", "imprecise"),
    ("This bit of creamware is from the 1780s.", "creamware", "supported"),
    ("Josiah Wedgwood got creamware right in seventeen sixty-two.", "creamware", "supported"),
    ("Creamware was introduced in sixteen sixty-two.", "creamware", "contradicted"),
    # Historic England and the regnal list: a year said beside a reign or period must meet it.
    ("It's Georgian, so about 1650.", "shoe buckle", "contradicted"),
    ("Charles the Second reigned from 1720 to 1740.", "halfpenny", "contradicted"),
    ("Charles the Second reigned from 1660 to 1685.", "halfpenny", "supported"),
]


def dated(found):
    return [c for c in found if c.kind == "date"]


@pytest.mark.parametrize(("said", "term", "verdict"), PLANTED)
@pytest.mark.parametrize("caption", [False, True])
def test_planted_statements_get_their_verdict(said: str, term: str, verdict: str, caption: bool) -> None:
    if caption:
        said = said.lower().rstrip(".").replace(",", "")
    found = [c for c in claims(said, term=term) if c.kind in {"date", "period"}]
    judged = dated(found)[-1] if dated(found) else found[-1]
    assert judged.verdict.value == verdict, judged.note
    assert judged.evidence and all(e.source and e.statement for e in judged.evidence)
    assert judged.note


@pytest.mark.parametrize(
    ("said", "term"),
    [
        ("It's a copy of a jug from sixteen fifty, in pearlware.", "pearlware"),
        ("It's not sixteen fifty, it's pearlware.", "pearlware"),
        ("Is it from sixteen fifty?", "pearlware"),
        ("I was hoping this pearlware was from 1650.", "pearlware"),
        ("If it's from 1650 it can't be pearlware.", "pearlware"),
        ("Somebody dropped this pearlware cup in nineteen oh five.", "pearlware"),
        ("The pub up there was built in 1650, and this pearlware came out of it.", "pearlware"),
        ("I found my first bit of pearlware back in 2019.", "pearlware"),
        ("I bought a piece of pearlware in 1998.", "pearlware"),
        ("We came here last week, and there was pearlware then.", "pearlware"),
        ("There was a ferry here as early as 1650.", "pearlware"),
        ("This pearlware is seventeen eighty to eighteen thirty.", "pearlware"),
        ("It's pearlware, so 1780s to about 1835.", "pearlware"),
        ("There are 1650 bits of pearlware in my shed.", "pearlware"),
        ("This coin is from 1650.", "coin"),
        ("This is a Victorian copy, and the real one was made in 1650.", "pearlware"),
        ("It's Victorian, but it's decorated in a style of about 1650.", "creamware"),
        ("He's a potter who was born in 1650.", "pearlware"),
    ],
)
@pytest.mark.parametrize("caption", [False, True])
def test_what_must_never_be_called_wrong(said: str, term: str, caption: bool) -> None:
    said = said.lower() if caption else said
    assert not [c.note for c in claims(said, term=term) if c.verdict is Verdict.CONTRADICTED]


@pytest.mark.parametrize(
    "said",
    [
        "Is it Roman?",
        "Could it be medieval?",
        "I'm hoping for something Tudor.",
        "I've been coming here since 2012.",
        "I had twenty quid on it being here by ten thirty.",
        "Last week I was up by the bridge.",
    ],
)
def test_no_claim_is_made_of_questions_hopes_and_the_speakers_own_times(said: str) -> None:
    assert not [c for c in claims(said, term="pipe bowl") if c.kind in {"date", "period"}]


def test_it_is_resolved_to_the_object_in_hand_and_the_log_is_compared() -> None:
    log = (LogEntry(find="1", row=2, object="Victorian penny", from_=1879, to=1879),)
    claim = claims("And it says eighteen seventy.", term="penny", log=log)[0]
    assert (claim.about, claim.find, claim.from_, claim.to, claim.edtf) == ("penny", "1", 1870, 1870, "1870")
    assert "the log gives 1879 for find 1; the claim says 1870" in claim.note


def test_the_same_statement_twice_is_one_claim_that_names_both_places() -> None:
    found = dated(claims("This creamware is 1780s.", "Yes, this creamware is 1780s.", term="creamware"))
    assert len(found) == 1
    assert "said again in a.mp4 at" in found[0].note


def test_ages_are_counted_from_the_day_of_filming() -> None:
    claim = dated(claims("It's three hundred years old.", term="pipe bowl"))[0]
    assert (claim.from_, claim.to, claim.edtf) == (1676, 1776, "1726~")


def test_from_memory_alone_nothing_is_supported_or_contradicted() -> None:
    claim = dated(claims("This silver penny is from 1200.", term="silver penny"))[0]
    assert claim.verdict is Verdict.UNREFERENCED
    assert all(e.grade.value != "from memory" for e in claim.evidence)


@pytest.mark.parametrize(
    ("said", "kind", "about"),
    [
        ("It's the oldest thing I have ever found on this river.", "superlative", "sixpence"),
        ("They were the biggest mineral water makers on this coast.", "superlative", "sixpence"),
        ("It's the only one known in the world.", "superlative", "sixpence"),
        ("They made two hundred thousand of them.", "quantity", "sixpence"),
        ("It's lead.", "material", "musket ball"),
        ("it's lead", "material", "musket ball"),
        ("They came over from Germany.", "origin", "Bellarmine jar"),
        ("It was made in Germany.", "origin", "Bellarmine jar"),
        ("It says Orme and Tuttle, Thesselmouth.", "maker", "Codd bottle"),
    ],
)
def test_other_kinds_of_claim(said: str, kind: str, about: str) -> None:
    found = [c for c in claims(said, term=about) if c.kind == kind]
    assert len(found) == 1
    assert found[0].about == about
    if kind in {"superlative", "quantity"}:
        assert found[0].verdict is Verdict.UNREFERENCED


@pytest.mark.parametrize(
    "said",
    [
        "First, a penny.",
        "The first thing I do is put the kettle on.",
        "The only thing is, it's raining.",
        "It's thin as paper.",
        "It's not lead.",
        "Is it lead?",
        "Last one here.",
        "I only had two hours.",
        "One, two, three, four, five pins, all in a clump.",
    ],
)
def test_everyday_talk_makes_no_claim(said: str) -> None:
    assert not claims(said, term="sixpence")


def test_an_origin_is_supported_by_the_record_and_contradicted_only_from_another_country() -> None:
    # FISH: a Bartmann jug, made in the Cologne region.
    assert claims("It was made in Germany.", term="Bellarmine jar")[0].verdict is Verdict.SUPPORTED
    assert claims("It was made in Italy.", term="Bellarmine jar")[0].verdict is Verdict.CONTRADICTED
    assert claims("It was made in Italy.", term="shoe buckle")[0].verdict is Verdict.UNREFERENCED


def test_a_persons_references_are_matched_by_words_or_by_id() -> None:
    said = "It says Orme and Tuttle, Thesselmouth."
    rows = (
        Reference(claim="Orme and Tuttle", reference="Notes of 2024"),
        Reference(claim="It's silver", reference="X"),
    )
    claim = claims(said, term="Codd bottle", references=rows)[0]
    assert claim.reference == "Notes of 2024"
    by_id = (Reference(claim=claim.id, reference="By id"),)
    assert claims(said, term="Codd bottle", references=by_id)[0].reference == "By id"
    assert claims("It's lead.", term="musket ball", references=rows)[0].reference is None


def test_ids_stay_when_other_claims_come() -> None:
    alone = dated(claims("This creamware is from the 1780s.", term="creamware"))[0]
    later = dated(claims("It's lead.", "This creamware is from the 1780s.", term="creamware"))
    assert alone.id in {c.id for c in later}


@settings(max_examples=40)
@given(
    st.lists(
        st.sampled_from(
            "it's that's the pearlware penny Codd patent 1872 1650 late 17th century Georgian so not made in by Germany silver the "
            "oldest known until from three hundred years old ? . , Wedgwood if I found was introduced".split()
        ),
        min_size=1,
        max_size=16,
    ).map(" ".join)
)
def test_any_talk_gives_sound_claims(text: str) -> None:
    for claim in claims(text, term="pearlware"):
        assert claim.start <= claim.end
        assert claim.quote
        if claim.edtf:
            parse_edtf(claim.edtf)
        if claim.verdict in {Verdict.SUPPORTED, Verdict.CONTRADICTED, Verdict.IMPRECISE}:
            assert claim.evidence


def test_a_page_that_anyone_may_write_in_decides_nothing_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    # Holcomb 2019: Conder tokens are of 1787 to 1797; here every source is taken for such a page.
    assert dated(claims("This Conder token is from 1790.", term="Conder token"))[0].verdict is Verdict.SUPPORTED
    monkeypatch.setattr(Record, "unreviewed", lambda _self, _source: True)
    for said in ("This Conder token is from 1790.", "This Conder token is from 1650."):
        claim = dated(claims(said, term="Conder token"))[0]
        assert claim.verdict is Verdict.UNREFERENCED
        assert "anyone may write in" in claim.note
        assert claim.evidence


def test_he_is_the_one_person_whom_the_record_ties_to_the_thing() -> None:
    # Munsey 2010: Codd lived from 1838 to 1887.
    assert dated(claims("He was born in 1861.", term="Codd bottle"))[0].verdict is Verdict.CONTRADICTED
    assert dated(claims("Codd died in 1887.", term="Codd bottle"))[0].verdict is Verdict.SUPPORTED
    assert dated(claims("My uncle Fred died in 1950.", term="Codd bottle")) == []


def test_a_stretch_of_years_is_no_moment_of_introduction() -> None:
    # Royal Mint Museum: cartwheel pennies were first struck in 1797 and circulated until 1860.
    claim = dated(claims("Cartwheel pennies were first struck in 1840.", term="cartwheel penny"))[0]
    assert claim.verdict is Verdict.CONTRADICTED
