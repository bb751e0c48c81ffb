"""Cautions: the Act's tests, what sets off the others, and what must stay silent."""

from __future__ import annotations

from datetime import date

import pytest

from episode.claims.cautions import cautions
from episode.models import Disclosures, LogEntry, Settings, Stance
from episode.record.load import load_record
from tests.claims.saying import mentions, moment, transcript

PERMIT = Disclosures(permit="Thesselmouth Harbour Trust foreshore permit")


def settings(**more) -> Settings:
    return Settings(date=more.pop("date", date(2026, 5, 3)), disclosures=more.pop("disclosures", PERMIT), **more)


def found(*lines: str, term: str | None = None, log: tuple[LogEntry, ...] = (), find: str | None = "1", **more):
    said = transcript(*lines or ("Hello there.",))
    moments = (moment(said, term, find, more.pop("stance", Stance.FOUND)),) if term else ()
    return cautions(said, mentions(said), moments, log, load_record(), settings(**more))


def row(number: str, **cells) -> LogEntry:
    return LogEntry(find=number, row=int(number) + 1, **cells)


def texts(cautions_, kind):
    return [c.text for c in cautions_ if c.kind == kind]


def test_an_old_object_of_precious_metal_may_be_treasure_and_names_who_decides() -> None:
    log = (row("1", object="ring", material="gold", from_=1500, to=1600),)
    caution = next(c for c in found("It's gold!", term="finger ring", log=log) if c.kind == "treasure")
    assert caution.text.startswith("May be treasure")
    assert "finds liaison officer" in caution.text and "coroner" in caution.text and "14 days" in caution.text
    assert caution.finds == ("1",) and caution.moments == ("m001",)
    assert "Treasure Act" in caution.source


@pytest.mark.parametrize(
    ("log", "words"),
    [
        ((row("1", object="hammered sixpence", material="silver", from_=1578, to=1578),), "two or more"),
        (
            (
                row("1", object="hammered penny", material="silver", from_=1300, to=1400),
                row("2", object="groat", material="silver", from_=1400, to=1500),
            ),
            "May be treasure: two or more coins",
        ),
        (
            tuple(row(str(n), object="coin", material="copper alloy", from_=300, to=400) for n in range(1, 11)),
            "ten or more coins",
        ),
        (
            tuple(row(str(n), object="axe", material="bronze", period="Bronze Age") for n in (1, 2)),
            "prehistoric metal",
        ),
        ((row("1", object="silver brooch", material="silver"),), "age is not settled"),
        ((row("1", object="buckle", material="copper alloy", from_=1700, to=1750),), "30 July 2023"),
    ],
)
def test_the_tests_of_the_act_by_number_metal_and_age(log: tuple[LogEntry, ...], words: str) -> None:
    said = texts(found(log=log), "treasure")
    assert any(words in text for text in said), said


def test_a_late_or_base_object_is_no_treasure() -> None:
    assert not texts(found(log=(row("1", object="spoon", material="silver", from_=1880, to=1900),)), "treasure")
    assert not texts(found(log=(row("1", object="button", material="bone", from_=1500, to=1600),)), "treasure")


def test_the_change_of_2023_is_not_applied_before_its_day() -> None:
    log = (row("1", object="buckle", material="copper alloy", from_=1700, to=1750),)
    assert not texts(found(log=log, date=date(2023, 7, 29)), "treasure")
    assert texts(found(log=log, date=date(2023, 7, 30)), "treasure")


@pytest.mark.parametrize(
    ("jurisdiction", "words"),
    [
        ("scotland", "Treasure Trove Unit"),
        ("northern ireland", "licence"),
        ("ruritania", "does not know the law"),
    ],
)
def test_other_jurisdictions(jurisdiction: str, words: str) -> None:
    log = (row("1", object="button", material="bone"),)
    assert any(words in text for text in texts(found(log=log, jurisdiction=jurisdiction), "treasure"))


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("I think this is a human bone.", "remains"),
        ("that looks like a human skull", "remains"),
        ("Hang on, that's a grenade.", "ordnance"),
        ("this might be an artillery shell", "ordnance"),
        ("It could be off a wreck.", "wreck"),
        ("The handle is ivory.", "ivory"),
        ("Mind the broken glass.", "sharps"),
        ("We've two hours before the tide turns.", "tide"),
    ],
)
def test_what_is_said_sets_off_its_caution(line: str, kind: str) -> None:
    assert kind in {c.kind for c in found(line, term="button")}


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("It's a sheep skull.", "remains"),
        ("It's a musket ball.", "ordnance"),
        ("There's a cockle shell.", "ordnance"),
        ("It's a torpedo bottle.", "ordnance"),
        ("A bomb fell here in 1941.", "ordnance"),
        ("It's not a grenade.", "ordnance"),
        ("I'm hoping for a shipwreck.", "wreck"),
        ("It's a sewing needle.", "sharps"),
    ],
)
def test_what_must_stay_silent(line: str, kind: str) -> None:
    assert kind not in {c.kind for c in found(line, term="button")}


def test_a_missing_permit_is_remembered_and_the_thames_has_its_own() -> None:
    assert texts(found(disclosures=Disclosures()), "permit")
    assert not texts(found(), "permit")
    assert any("Port of London" in t for t in texts(found(place="Thames foreshore"), "permit"))


def test_no_text_advises_to_keep_or_move() -> None:
    from episode.claims.caution_rules import rules

    every = [r for j in ("england", "scotland", "northern ireland", "elsewhere") for r in rules(j, date(2026, 5, 3))]
    assert every
    for rule in every:
        assert "you may keep" not in rule.text and "take it home" not in rule.text and "dig it" not in rule.text


def test_prehistoric_coins_are_not_the_order_of_2002s() -> None:
    # Treasure (Designation) Order 2002, article 3: objects other than coins.
    log = tuple(row(str(n), object="coin", material="copper alloy", from_=-60, to=-40) for n in (1, 2))
    assert not any("prehistoric metal" in text for text in texts(found(log=log), "treasure"))


def test_a_wreck_may_be_a_protected_one() -> None:
    # Maritime and Coastguard Agency, Protected wrecks: the Acts of 1973 and 1986.
    said = texts(found("It could be off a wreck.", term="button"), "wreck")
    assert any("28 days" in t for t in said) and any("1973" in t and "1986" in t and "licence" in t for t in said)


def test_the_ivory_ban_is_named_from_its_day() -> None:
    # S.I. 2022/288, explanatory note: section 1 of the Ivory Act 2018 fully in force on 6 June 2022.
    before, after = (
        texts(found("The handle is ivory.", term="button", date=date(2022, 6, day)), "ivory") for day in (5, 6)
    )
    assert len(before) == len(after) == 1
    assert "2018" not in before[0] and "Ivory Act 2018" in after[0]


@pytest.mark.parametrize(
    "line",
    [
        "I think this is a human bone.",
        "Hang on, that's a grenade.",
        "It could be off a wreck.",
        "The handle is ivory.",
        "We've two hours before the tide turns.",
    ],
)
def test_elsewhere_nothing_of_british_law_or_numbers_is_said(line: str) -> None:
    said = [c.text for c in found(line, term="button", jurisdiction="ruritania")]
    assert len(said) >= 2
    assert not any(w in t for t in said for w in ("999", "United Kingdom", "Receiver of Wreck", "coroner", " Act "))
