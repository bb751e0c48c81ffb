"""What viewers are told; the times and offices are those of vocab/rules/viewer_notes.csv and its sources."""

from __future__ import annotations

import csv
import json

import pytest

from episode.drafting.description import draft
from episode.lexicon.resources import vocab_root
from episode.models import Caution
from tests.drafting.invented import SETTINGS, day


def lines(jurisdiction: str, *kinds: str) -> str:
    cautions = tuple(Caution(kind=kind, text=f"to the person: {kind}", finds=("9",)) for kind in kinds)
    settings = SETTINGS.model_copy(update={"jurisdiction": jurisdiction})
    text = draft(day(settings=settings, cautions=cautions)).text
    assert "to the person" not in text  # a caution is for who publishes, not for viewers
    return text


@pytest.mark.parametrize(
    ("jurisdiction", "words"),
    [
        ("england", "14 days to tell the coroner"),
        ("England and Wales", "14 days to tell the coroner"),
        ("wales", "finds liaison officer"),
        ("scotland", "Treasure Trove Unit"),
        ("Northern Ireland", "needs a licence"),
        ("Jersey", "ask the local museum"),
    ],
)
def test_where_finds_are_reported_follows_the_jurisdiction(jurisdiction, words):
    assert words in lines(jurisdiction, "treasure")


def test_each_kind_once_and_only_what_the_day_has():
    text = lines("england", "tide", "sharps", "tide")
    assert text.count("tide tables") == 1
    assert "coroner" not in text


def test_every_kind_of_caution_but_ivory_has_words_for_everywhere():
    rows = list(csv.DictReader(vocab_root().joinpath("rules/viewer_notes.csv").read_text("utf-8").splitlines()))
    everywhere = {row["kind"] for row in rows if row["jurisdiction"] == "*"}
    assert everywhere == {"tide", "sharps", "treasure", "remains", "ordnance", "wreck", "permit"}


def test_sources_are_known():
    rows = csv.DictReader(vocab_root().joinpath("rules/viewer_notes.csv").read_text("utf-8").splitlines())
    known = {s["id"] for s in json.loads(vocab_root().joinpath("sources/sources.json").read_text("utf-8"))}
    assert {row["source"] for row in rows} <= known
