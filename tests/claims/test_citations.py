"""References as people type them: numbers checked, one work always the same."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.claims.citations import understand
from episode.models import Reference
from tests.claims.saying import claims


@pytest.mark.parametrize(
    ("typed", "kind", "key", "shown"),
    [
        # The example of the ISBN Users' Manual (International ISBN Agency), and a known pair of both lengths: from memory.
        ("978-92-95055-12-4", "isbn", "isbn:9789295055124", "ISBN 9789295055124"),
        ("ISBN 0-306-40615-2", "isbn", "isbn:9780306406157", "ISBN 9780306406157"),
        ("isbn: 978 0 306 40615 7, p. 12", "isbn", "isbn:9780306406157", "ISBN 9780306406157, p. 12"),
        ("ISBN 0-8044-2957-X", "isbn", "isbn:9780804429573", "ISBN 9780804429573"),
        # The DOI Handbook's own name; names are compared whatever their capitals.
        ("doi:10.1000/182", "doi", "doi:10.1000/182", "https://doi.org/10.1000/182"),
        ("see https://dx.doi.org/10.1000/ABC.", "doi", "doi:10.1000/abc", "see https://doi.org/10.1000/abc."),
        # RFC 3986, 6.2.2.1: scheme and host whatever their capitals, the path as it stands.
        ("HTTPS://Example.org/Page/", "url", "url:example.org/Page", "https://example.org/Page/"),
        ("www.example.org/Page", "url", "url:example.org/Page", "https://www.example.org/Page"),
        ("Noakes 1994,  p. 7", "text", "text:noakes 1994, p. 7", "Noakes 1994, p. 7"),
        ("telephone 01632 960 187", "text", "text:telephone 01632 960 187", "telephone 01632 960 187"),
    ],
)
def test_one_work_is_the_same_however_it_is_typed(typed: str, kind: str, key: str, shown: str) -> None:
    found = understand(typed)
    assert (found.kind, found.key, found.shown, found.problem) == (kind, key, shown, "")


@pytest.mark.parametrize("typed", ["978-92-95055-12-5", "ISBN 0-306-40615-3"])
def test_a_wrong_check_digit_is_said_and_the_words_are_kept(typed: str) -> None:
    found = understand(typed)
    assert "check digit" in found.problem
    assert found.shown == typed


@given(st.integers(0, 10**9 - 1), st.integers(0, 8), st.integers(1, 9))
def test_any_single_wrong_figure_of_an_isbn_is_caught(first: int, at: int, more: int) -> None:
    nine = f"{first:09d}"
    right = next(f"978{nine}{last}" for last in range(10) if not understand(f"978{nine}{last}").problem)
    wrong = right[: at + 3] + str((int(right[at + 3]) + more) % 10) + right[at + 4 :]
    assert understand(wrong).problem


@given(st.text(max_size=80))
def test_any_text_is_understood(text: str) -> None:
    assert understand(text).key


def test_a_references_number_is_checked_where_it_closes_a_claim() -> None:
    row = Reference(claim="oldest mill in the county", reference="ISBN 0-306-40615-3", row=4)
    claim = claims("It's the oldest mill in the county.", term="key", references=(row,))[0]
    assert claim.reference == "ISBN 0-306-40615-3"
    assert "row 4" in claim.note and "check digit" in claim.note


def test_a_reference_by_words_outlives_other_clips_and_a_claim_keeps_its_id() -> None:
    row = Reference(claim="This creamware is from the 1780s", reference="doi:10.1000/182")
    alone = claims("This creamware is from the 1780s.", term="creamware", references=(row,))
    later = claims("It's lead.", "This creamware is from the 1780s.", term="creamware", references=(row,))
    assert [c.reference for c in later if c.kind == "date"] == ["https://doi.org/10.1000/182"]
    assert alone[0].id in {c.id for c in later}
