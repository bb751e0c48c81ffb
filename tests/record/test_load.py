"""The built-in record loads, is found by name, and cites in words."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from episode.errors import UnusableInput
from episode.record.load import load_record, read_facts, read_sources
from episode.record.references import short_reference


def test_every_fact_has_a_source_that_can_be_cited() -> None:
    record = load_record()
    assert len(record.facts) > 300
    for fact in record.facts:
        assert fact.source in record.sources, fact
        assert record.reference(fact.source) != fact.source


def test_facts_are_found_whatever_the_capitals_and_hyphens() -> None:
    record = load_record()
    assert record.about("PEARLWARE") == record.about("pearlware") != ()
    assert record.about("Post-Medieval") == record.about("post medieval") != ()
    assert any(fact.topic == "patent" for fact in record.about("Hiram Codd"))
    assert record.about("no such thing") == ()


def test_reigns_and_periods_carry_their_years() -> None:
    record = load_record()
    assert (record.reigns["charles ii"].from_, record.reigns["charles ii"].to) == (1660, 1685)
    assert (record.periods["georgian"].from_, record.periods["georgian"].to) == (1714, 1830)


def test_a_bad_row_is_named_by_file_row_and_column(tmp_path: Path) -> None:
    head = "about,topic,statement,from,to,place,person,source,grade,note\n"
    (tmp_path / "a.csv").write_text(head + "x,range,s,17x0,,,,k,primary,\n" + "y,range,s,1700,,,,k,hearsay,\n")
    facts, problems = read_facts(tmp_path)
    assert not facts
    assert [p.where for p in problems] == ["a.csv, row 2, column from", "a.csv, row 3, column grade"]


def test_a_broken_list_of_sources_is_an_error(tmp_path: Path) -> None:
    path = tmp_path / "sources.json"
    for text in ("{", json.dumps([{"title": "no id"}])):
        path.write_text(text)
        with pytest.raises(UnusableInput):
            read_sources(path)


def test_short_references() -> None:
    item = {
        "id": "noel-hume",
        "author": [{"family": "Noël Hume", "given": "Ivor"}],
        "title": "A Guide to Artifacts of Colonial America",
        "publisher": "Knopf",
        "issued": {"date-parts": [[1969]]},
    }
    assert short_reference(item) == "Noël Hume 1969, A Guide to Artifacts of Colonial America (Knopf)"
    assert short_reference({"id": "k", "title": "Periods List"}) == "Periods List"
    assert short_reference({"id": "k"}) == "k"
