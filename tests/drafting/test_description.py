from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from episode.drafting.checklist import checklist
from episode.drafting.description import draft
from episode.drafting.formats import chapters_txt
from episode.models import Disclosures, Link, Verdict
from tests.drafting.invented import CLAIMS, PROMISES, SETTINGS, claim, day


def with_settings(**changes):
    return day(settings=SETTINGS.model_copy(update=changes))


def line_of(text: str, start: str) -> str:
    return next(line for line in text.splitlines() if line.startswith(start))


def block(text: str, heading: str) -> list[str]:
    """The lines of the last block under this heading."""
    return next(b.splitlines()[1:] for b in text.split("\n\n") if b.startswith(heading + "\n"))


def test_chapters_stand_whole():
    text = draft(day()).text
    assert block(text, "Chapters") == chapters_txt.render(day()).splitlines()


def test_dates_are_given_as_checked():
    text = draft(day()).text
    assert line_of(text, "Creamware").startswith("Creamware, 1762 to 1820 [")
    assert line_of(text, "Thimble").startswith(
        "Thimble; said on camera: the 17th century; the record gives 1650 to 1730 ["
    )
    assert "Pin; said on camera: “right through Tudor times”; not yet referenced" in text.splitlines()


def test_unverified_dates_are_left_out_on_demand():
    text = draft(with_settings(unverified="leave out")).text
    assert "not yet referenced" not in text and "Tudor" not in text
    assert "Thimble, 1650 to 1730 [" in text


@pytest.mark.parametrize("unverified", ["hedge", "leave out"])
def test_a_contradicted_claim_never_passes_as_fact(unverified):
    drafted = draft(with_settings(unverified=unverified))
    assert "Spoon bowl" in drafted.text.splitlines()  # named, and nothing more: the log's "Tudor" is in dispute too
    assert "1500s" not in drafted.text and "16th century" not in drafted.text and "1500 to 1599" not in drafted.text
    assert "c008" in [c.id for c in drafted.left_out]


def test_a_persons_reference_makes_a_date_stand_unless_it_is_contradicted():
    given = tuple(c.model_copy(update={"reference": "Fenn, Pins of the Thessel, p. 3"}) for c in CLAIMS)
    text = draft(day(claims=given)).text
    assert line_of(text, "Pin, ").startswith("Pin, 1485 to 1603 [")
    assert "Fenn, Pins of the Thessel, p. 3" in text
    assert "Spoon bowl" in text.splitlines()


def test_references_are_numbered_in_the_order_they_are_cited():
    text = draft(day()).text
    assert [line.split()[0] for line in block(text, "References")] == ["[1]", "[2]", "[3]", "[4]"]
    assert "[1]" in line_of(text, "Pipe bowl")


def test_makers_stand_only_if_supported():
    assert "Harkness" not in draft(day()).text
    known = claim(20, "m007", "Bottled by Harkness and Dole", "maker", Verdict.SUPPORTED,
                  evidence=CLAIMS[3].evidence)  # fmt: skip
    assert block(draft(day(claims=(known,))).text, "Makers")[0].startswith("Hiram Codd's first patent")


def test_promises_are_kept_by_the_line_that_keeps_them():
    kept = {p.id: p for p in draft(day()).promises}
    assert kept["p001"].kept and kept["p001"].by == "Tide tables for the Thessel: https://tides.example.org/thessel"
    assert not kept["p002"].kept and kept["p002"].by is None  # the same sentence promised another link too
    assert kept["p003"].kept and kept["p003"].by == "Whose is the anchor on the lead token?"
    assert not kept["p005"].kept


def test_what_a_person_decided_about_a_promise_stands():
    decided = PROMISES[4].model_copy(update={"kept": True, "by": "decided on 2026-05-04"})
    assert draft(day(promises=(decided,))).promises == (decided,)


def test_an_address_that_gives_a_place_away_is_not_published():
    hidden = with_settings(links=(Link(label="Where we were", url="https://example.org/?at=53.12345,-0.12345"),))
    assert "53.12345" not in draft(hidden).text


def test_permit_number_is_shown_only_when_asked_for():
    permit = Disclosures(permit="harbour permit TH-4471", permit_number="TH-4471", sponsor="Marrow <Boots>")
    assert "TH-4471" not in draft(with_settings(disclosures=permit)).text
    shown = draft(with_settings(disclosures=permit.model_copy(update={"show_permit_number": True}))).text
    assert "number TH-4471" in shown and "Sponsored by Marrow ‹Boots›." in shown


def test_no_stamp_stands_outside_the_chapters():
    import re

    text = draft(day()).text
    outside = text.replace("\n".join(block(text, "Chapters")), "")
    assert not re.search(r"\d:\d\d", outside)


def test_detail_goes_in_the_stated_order_and_is_said_to():
    full = draft(day())
    assert not full.problems
    tight = draft(with_settings(description_limit=len(full.text) - 1))
    assert len(tight.text) < len(full.text)
    assert "Barrel-shaped" not in tight.text and "[1]" in tight.text
    assert "what each date rests on" in tight.problems[0].what


@settings(max_examples=60, deadline=None)
@given(st.integers(200, 2600))
def test_any_limit_is_kept_and_chapters_are_whole_or_absent(limit):
    drafted = draft(with_settings(description_limit=limit))
    assert 0 < len(drafted.text) <= limit
    lines = chapters_txt.render(day()).splitlines()
    present = [line for line in lines if line in drafted.text.splitlines()]
    assert present in ([], lines)


def test_chapters_are_kept_when_there_is_just_room_for_them():
    lines = "\n".join(chapters_txt.render(day()).splitlines())
    drafted = draft(with_settings(description_limit=1100))
    assert lines in drafted.text


def test_an_empty_day_is_no_error():
    from episode.drafting.result import DayResult

    assert draft(DayResult()).text == "\n"


def test_what_is_left_before_publishing():
    drafted = draft(day())
    left = {item.kind: item.count for item in checklist(day(), drafted.promises)}
    assert left == {"contradicted": 1, "imprecise": 1, "unreferenced": 3, "promise": 3, "caution": 2, "unlogged": 1,
                    "unfilmed": 1, "unsure": 2}  # fmt: skip


def test_a_persons_own_words_for_a_claim_but_never_for_a_contradicted_one():
    worded = tuple(c.model_copy(update={"wording": f"in words of ours {c.id}"}) for c in CLAIMS)
    text = draft(day(claims=worded)).text
    assert "Pipe bowl; in words of ours c001" in text
    assert "about 1640 to 1670" not in text.split("Finds\n")[1].split("\n\n")[0]
    assert "c008" not in text
