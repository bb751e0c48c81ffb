"""Tides and moons said of a day, against the moon of that day."""

from __future__ import annotations

import pytest

from episode.models import Settings
from tests.claims.saying import SETTINGS, claims


def moons(said: str, settings: Settings = SETTINGS):
    return [c for c in claims(said, term="button", settings=settings) if c.aspect == "moon"]


@pytest.mark.parametrize(
    ("said", "verdict", "day"),
    [
        # Filmed on 3 May 2026. Full moon on 1 May 2026, new on 16 May (computed); springs two days after (UK
        # Hydrographic Office, EasyTide). The table of celnav.nl: full 21 January 2019, first quarter 14 March.
        ("There's a big spring tide today.", "supported", "2026-05-03"),
        ("it's a spring tide this morning so the river is right out", "supported", "2026-05-03"),
        ("It's a neap tide today.", "contradicted", "2026-05-03"),
        ("It was a full moon last night.", "supported", "2026-05-02"),
        ("It's a new moon tonight.", "contradicted", "2026-05-03"),
        ("There was a spring tide on the 23rd of January 2019.", "supported", "2019-01-23"),
        ("There was a spring tide on the 15th of March 2019.", "contradicted", "2019-03-15"),
        ("It was full moon on 21 January 2019.", "supported", "2019-01-21"),
        ("It was full moon on 23 January 2019.", "imprecise", "2019-01-23"),
    ],
)
def test_a_tide_or_a_moon_is_weighed_by_the_moons_phase(said: str, verdict: str, day: str) -> None:
    found = moons(said)
    assert [(c.verdict.value, c.edtf) for c in found] == [(verdict, day)]
    assert found[0].kind == "date" and found[0].evidence
    if "tide" in said:
        assert "rule of thumb" in found[0].note and "tide table" in found[0].note
    assert len(claims(said, term="button")) == 1


@pytest.mark.parametrize(
    "said",
    [
        "You can only get out here on a spring tide.",
        "I'm hoping for a spring tide today.",
        "It's not a spring tide today.",
        "Is it a spring tide today?",
        "The next spring tide is tomorrow.",
        "It's got a spring in it.",
        "It's a half moon shape.",
        "I was here in the spring.",
    ],
)
def test_tides_in_general_are_no_claim(said: str) -> None:
    assert not moons(said)


def test_elsewhere_no_rule_of_thumb_decides() -> None:
    found = moons("It's a neap tide today.", SETTINGS.model_copy(update={"jurisdiction": "ruritania"}))
    assert [c.verdict.value for c in found] == ["unreferenced"]
