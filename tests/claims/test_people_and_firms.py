"""Monarchs, firms, persons and places said in talk, against the reigns and firms of the record."""

from __future__ import annotations

import pytest

from episode.models import Claim, Verdict
from tests.claims.saying import claims


def one(*lines: str, term: str = "penny", kind: str = "date") -> Claim:
    """The last claim of the kind."""
    return [c for c in claims(*lines, term=term) if c.kind == kind][-1]


@pytest.mark.parametrize(
    ("said", "verdict"),
    [
        ("Queen Victoria came to the throne in 1837.", Verdict.SUPPORTED),
        ("Queen Victoria came to the throne in 1850.", Verdict.CONTRADICTED),
        ("Queen Victoria died in 1901.", Verdict.SUPPORTED),
        ("Queen Victoria died in 1899.", Verdict.CONTRADICTED),
        ("Queen Victoria was born in 1840.", Verdict.CONTRADICTED),
        ("Queen Victoria was born in 1819.", Verdict.UNREFERENCED),
        ("James the Second died in 1701.", Verdict.UNREFERENCED),
        ("James the Second died in 1687.", Verdict.CONTRADICTED),
    ],
)
def test_a_reign_dates_an_accession_and_mostly_a_death(said: str, verdict: Verdict) -> None:
    # Reigns after Historycal's table of days: Victoria from 20 June 1837 to 22 January 1901; James II was deposed.
    assert one(said).verdict is verdict


def test_she_is_the_monarch_named_just_before() -> None:
    said = ("Queen Victoria came to the throne in 1837.", "She died in 1911.")
    assert one(*said).verdict is Verdict.CONTRADICTED


@pytest.mark.parametrize(
    ("said", "verdict"),
    [
        ("Kilner Brothers were founded in 1842.", Verdict.SUPPORTED),
        ("They were founded in 1777.", Verdict.CONTRADICTED),
        ("Kilner Brothers closed in 1850.", Verdict.CONTRADICTED),
        ("They opened the works at Conisbrough in 1863.", Verdict.SUPPORTED),
        ("They opened the works at Skelby in 1870.", Verdict.UNREFERENCED),
    ],
)
def test_a_firm_is_no_longer_founded_once_it_is_at_work(said: str, verdict: Verdict) -> None:
    # Lockhart and Grace's Guide: Kilner from 1842 to the late 1930s, at Conisbrough from 1863.
    assert one(said, term="Kilner jar").verdict is verdict


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("It belonged to Admiral Fenwick Tull.", "Admiral Fenwick Tull"),
        ("A potter called Josiah Brand lived here.", "Josiah Brand"),
        ("a potter called josiah brand lived here", "josiah brand"),
        ("Thomas Ellery owned the powder mill.", "Thomas Ellery"),
    ],
)
def test_somebody_whom_no_record_knows_needs_a_reference(said: str, value: str) -> None:
    claim = one(said, kind="person")
    assert claim.verdict is Verdict.UNREFERENCED
    assert value in claim.note


@pytest.mark.parametrize(
    "said",
    [
        "Thanks to Jenny Marsh for the lift.",
        "My friend Tom Ellis lived here.",
        "Jenny Marsh is over there.",
        "The Old Bridge House was built here.",
        "a stopper called it a day",
    ],
)
def test_friends_and_houses_are_no_persons_of_history(said: str) -> None:
    assert not [c for c in claims(said, term="penny") if c.kind == "person"]


def test_a_part_or_a_kind_may_be_of_another_date_than_the_thing() -> None:
    # The farthing is of the thirteenth century; Wikipedia has the wren on it from 1937.
    assert one("The farthing with the wren came in in 1937.", term="farthing").verdict is not Verdict.CONTRADICTED
    assert one("Nylon bristles came in in 1990.", term="toothbrush").verdict is Verdict.UNREFERENCED
    assert one("It came in in 1990.", term="farthing").verdict is Verdict.CONTRADICTED


def test_a_material_is_excluded_only_by_another_one() -> None:
    # FISH objects thesaurus: a palstave is of bronze, a cloth seal of lead.
    assert one("It's made of iron.", term="palstave", kind="material").verdict is Verdict.CONTRADICTED
    assert one("It's made of copper alloy.", term="palstave", kind="material").verdict is not Verdict.CONTRADICTED
    assert one("It's made of pewter.", term="cloth seal", kind="material").verdict is not Verdict.CONTRADICTED


def test_a_country_that_no_vocabulary_has_is_a_country_still() -> None:
    # FISH objects thesaurus: Bellarmine jars are of the Cologne region.
    assert one("They came from Portugal.", term="Bellarmine jar", kind="origin").verdict is Verdict.CONTRADICTED
    assert one("They came from Germany.", term="Bellarmine jar", kind="origin").verdict is Verdict.SUPPORTED


def test_a_works_of_which_nothing_is_known_is_a_place() -> None:
    assert (
        one("They were made at the Marsh Lane tilery.", term="peg tile", kind="place").verdict is Verdict.UNREFERENCED
    )


@pytest.mark.parametrize(
    ("said", "kind", "verdict"),
    [
        # Names of the record itself (Lockhart and Starr; the makers of buttons), whatever the capitals.
        ("hiram codd was an engineer from camberwell", "person", "unreferenced"),
        ("Hiram Codd was an engineer from Camberwell.", "person", "unreferenced"),
        ("so it was hiram codd who invented the bottle", "maker", "supported"),
        ("this came from john aston & co", "maker", "unreferenced"),
        ("it's a john aston and co one", "maker", "unreferenced"),
    ],
)
def test_the_records_own_names_need_no_cue_and_no_capitals(said: str, kind: str, verdict: str) -> None:
    found = [c for c in claims(said, term="Codd bottle") if c.kind in {"person", "maker"}]
    assert [(c.kind, c.verdict.value) for c in found] == [(kind, verdict)]


@pytest.mark.parametrize("said", ["It's off the end of a boot lace.", "it came off an old pair of boots i think"])
def test_a_firm_with_an_everyday_name_needs_a_capital_or_a_cue(said: str) -> None:
    assert not [c for c in claims(said, term="aglet") if c.kind == "maker"]


def test_with_a_cue_the_everyday_name_is_a_firm() -> None:
    assert [c.kind for c in claims("This was made by Boots.", term="bottle")] == ["maker"]
