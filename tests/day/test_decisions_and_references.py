"""What the person decided and found out is read line by line; a bad line costs only itself."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.day.decisions import read_decisions
from episode.day.references import read_references
from episode.errors import UnusableInput


def test_decisions_in_order_and_a_torn_line_is_reported_not_lost(tmp_path: Path):
    path = tmp_path / "decisions.jsonl"
    path.write_text('{"action": "pair", "clip": "a.mp4", "start": 3.5, "value": "7"}\n\n{"action": "stance", "val')
    decisions, problems = read_decisions(tmp_path)
    assert [(d.action, d.value, d.line) for d in decisions] == [("pair", "7", 1)]
    assert [p.where for p in problems] == ["decisions.jsonl, line 3"]
    assert path.read_text().endswith('"val')


def test_no_file_is_no_decision(tmp_path: Path):
    assert read_decisions(tmp_path) == ((), ())


@given(st.binary(max_size=300))
def test_any_bytes_give_decisions_or_problems(tmp_path_factory: pytest.TempPathFactory, data: bytes):
    folder = tmp_path_factory.mktemp("day")
    (folder / "decisions.jsonl").write_bytes(data)
    decisions, problems = read_decisions(folder)
    assert len(decisions) + len(problems) == sum(1 for line in data.split(b"\n") if line.strip())


def test_references_under_either_heading(tmp_path: Path):
    (tmp_path / "references.csv").write_text("Statement,Reference,Note\npatent of 1870,ISBN 0140328726,p. 4\n,x,\n")
    rows, problems = read_references(tmp_path)
    assert [(r.claim, r.reference, r.note, r.row) for r in rows] == [("patent of 1870", "ISBN 0140328726", "p. 4", 2)]
    assert [p.where for p in problems] == ["references.csv, row 3"]


def test_references_without_the_columns_are_refused(tmp_path: Path):
    (tmp_path / "references.csv").write_text("a,b\n1,2\n")
    with pytest.raises(UnusableInput, match="needs the columns"):
        read_references(tmp_path)
