"""No input takes more time or memory than a day's work is worth: the quick cases of ``tests.campaign.bounds``."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.campaign.bounds import CASES, run

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="cases run in a forked process with limits")

READ = (
    "log, 4,900 rows",
    "log, a time of 19,000 digits",
    "log, a year of 19,000 digits",
    "decisions, nested lists",
    "decisions, nested objects",
    "decisions, a time of a million digits",
    "track, a time of 19 million digits",
    "track, names full of namespaces",
    "captions, one word of 9 MB",
    "captions, braces never closed",
    "picture, 100,000 by 100,000 PNG",
    "picture, 16,000 by 16,000 JPEG",
    "picture, 65,535 by 65,535 JPEG",
    "picture, 100,000 by 100,000 TIFF",
    "picture, EXIF of a billion values",
    "picture, EXIF that leads to itself",
    "date of a million digits",
    "date of Roman numerals",
)
REFUSED = {
    "log, 200 MB": "larger than 50 MB",
    "log, a cell of 1 MB": "row 2 is longer",
    "log, a row of 49 million cells": "row 2 is longer",
    "log, cells of lines in one row": "row 2 is longer",
    "XLSX, 10 GB in a zip": "unpacks to more than 200 MB",
    "XLSX, a cell in the far corner": "more memory or time",
    "XLSX, a cell far off": "more memory or time",
    "XLSX, entities": "row 1",
    "settings, nested arrays": "nested too deep",
    "settings, nested tables": "nested too deep",
    "settings, a dotted key of 49,000": "100 parts",
    "settings, a quoted dotted key": "100 parts",
    "settings, a number of 99,000 digits": "not valid TOML",
    "settings, a date of 99,000 digits": "not valid TOML",
    "template, loops over itself": "turn more than",
    "template, a text that doubles": "what is set",
    "template, a list that doubles": "what is set",
    "template, a block that doubles": "what is set",
    "template, a list in a list": "what is set",
    "template, replacing": "more than 200000 characters",
    "template, joining": "more than 200000 characters",
    "template, wide": "cannot be called",
    "captions, a time of a million digits": "line 1",
    "skos, a billion laughs": "document type",
    "skos, an outside entity": "document type",
    "skos, laughs in UTF-16": "document type",
    "skos, nested XML": "more than 100 elements",
    "skos, nested Turtle": "recursion",
    "skos, JSON-LD nested 900 deep": "JSON",
    "skos, an outside context": "not fetched",
    "skos, a number of a million digits": "JSON",
    "edl, an event of a million digits": "not a timeline",
    "otio, nested deep": "not a timeline",
    "otio, nested 900 deep": "nested too deep",
    "otio, a number of a million digits": "not a timeline",
}


@pytest.mark.parametrize("name", READ)
def test_it_is_read(name: str, tmp_path: Path):
    came = run(name, tmp_path)
    assert came.how == "read", came.said
    assert came.seconds < 30


@pytest.mark.parametrize("name", REFUSED)
def test_it_is_refused_in_words(name: str, tmp_path: Path):
    came = run(name, tmp_path)
    assert came.how == "refused", came.said
    assert REFUSED[name] in came.said
    assert came.seconds < 30


def test_a_track_of_laughs_is_refused(tmp_path: Path):
    assert "declares entities" in run("track, a million laughs", tmp_path).said


def test_the_cases_are_all_there():
    assert set(READ) | set(REFUSED) <= set(CASES)
