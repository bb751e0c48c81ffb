"""The record that ships is sound, and the lint would say if it were not."""

from __future__ import annotations

from pathlib import Path

import pytest

from episode.record import lint as linting
from episode.record.lint import lint

HEAD = "about,topic,statement,from,to,place,person,source,grade,note\n"


def test_the_record_that_ships_is_sound():
    assert [f"{p.where}: {p.what}" for p in lint()] == []


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("pin,range,Made,1800,1700,,,book,secondary,", "runs backwards"),
        ("pin,heyday,Made,1700,1800,,,book,secondary,", "unknown topic"),
        ("pin,range,Made,1700,1800,,,blog,secondary,", "unknown source"),
        ("pin,range,Made,1700,1800,,,from memory,primary,", "has no source"),
        ("pin,range,Made,1700,1800,,,book,hearsay,", "Input should be"),
        ("pin,range,,1700,1800,,,book,secondary,", "says nothing"),
        ("pin,range,Made,1700,1800,,,book,secondary,\npin,range,Made,1700,1800,,,book,secondary,", "twice"),
    ],
)
def test_each_fault_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, row: str, says: str):
    (tmp_path / "record").mkdir()
    (tmp_path / "sources").mkdir()
    (tmp_path / "record" / "facts.csv").write_text(HEAD + row + "\n")
    (tmp_path / "sources" / "sources.json").write_text('[{"id": "book"}, {"id": "from memory"}]')
    monkeypatch.setattr(linting, "vocab_root", lambda: tmp_path)
    assert [says in p.what for p in lint()] == [True]
