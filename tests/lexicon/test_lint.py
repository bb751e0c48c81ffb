"""Each fault of a vocabulary file is found and named; the built-in packs have none."""

import graphlib
import itertools
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.lexicon.lint import lint
from tests.conftest import ROOT


def test_the_built_in_packs_are_clean() -> None:
    assert [f"{p.where}: {p.what}" for p in lint() if p.level != "note"] == []


@pytest.mark.parametrize(
    ("text", "what", "level"),
    [
        ("term,broader\na1,b1\nb1,a1\n", "runs in a circle: a1 → b1 → a1", "error"),
        ("term,broader\na1,a1\n", "runs in a circle: a1 → a1", "error"),
        ("term,broader\na1,c1; b1\nb1,a1\nc1,\n", "runs in a circle: a1 → b1 → a1", "error"),
        ("term,broader\na1,b1; nowhere\nb1,\n", "“nowhere”, which is no term", "warning"),
        ("term,broader\na1,nowhere\n", "“nowhere”, which is no term", "warning"),
        ("term,broader\na1,bartmann jug\n", "“Bellarmine jar” has that name", "warning"),
        ("term\na1\nA1\n", "stands already in row 2", "error"),
        ("term,also\na1,x1\nb1,X1\n", "“X1” under “also” of “b1” is taken", "error"),
        ("term,also\na1,b1\nb1,\n", "“b1” under “also” of “a1” is taken", "error"),
        ("term,heard_as\na1,b1\nb1,\n", "“b1” under “heard_as” of “a1” is taken", "error"),
        ("term,from,to\na1,1800,1700\n", "begins in 1800 and ends in 1700", "error"),
        ("term,kind\na1,thing\n", "the kind “thing” is not known", "error"),
        ("term,shape\na1,round\n", "nothing is read from the column shape", "note"),
        ("term\nCodd bottle\n", "replaces the one in pack glass", "note"),
        ("term,also\na1,greybeard\n", "now leads to your “a1”, not to “Bellarmine jar”", "note"),
    ],
)
def test_each_fault(tmp_path: Path, text: str, what: str, level: str) -> None:
    path = tmp_path / "mine.csv"
    path.write_text(text, encoding="utf-8")
    (problem,) = lint((path,))
    assert what in problem.what
    assert problem.level == level
    assert "mine.csv" in problem.where


def test_a_good_file_is_clean(tmp_path: Path) -> None:
    path = tmp_path / "mine.csv"
    path.write_text("term,kind,broader,from,to\nskelby ware,ware,redware,1650,1700\n", encoding="utf-8")
    assert lint((path,)) == ()


@pytest.fixture
def packs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Built-in packs of our own, with one source that the list knows."""
    (tmp_path / "terms").mkdir()
    (tmp_path / "sources").mkdir()
    (tmp_path / "sources" / "sources.json").write_text('[{"id": "known-source"}]')
    monkeypatch.setattr("episode.lexicon.packs.vocab_root", lambda: tmp_path)
    monkeypatch.setattr("episode.lexicon.lint.vocab_root", lambda: tmp_path)
    return tmp_path / "terms"


@pytest.mark.parametrize(
    ("row", "what"),
    [
        ("b1,,,,,,", "“b1” has no source"),
        ("b1,,,,,,made-up", "names the source “made-up”, which sources.json does not hold"),
        ("A1,,,,,,known-source", "“A1” under “term” of “A1” is taken: “a1” in pack one"),
        ("b1,x1,,,,,known-source", "“x1” under “also” of “b1” is taken: “a1” in pack one"),
        ("b1,,a1,,,,known-source", "“a1” under “heard_as” of “b1” is taken: “a1” in pack one"),
        ("b1,,,c1,,,known-source", "“b1” stands below “c1”, which is no term"),
        ("b1,,,b1,,,known-source", "runs in a circle: b1 → b1"),
        ("b1,,,,1800,1700,known-source", "begins in 1800 and ends in 1700"),
        ("b1,,,,about 1800,,known-source", "“about 1800” under “from” is not a year"),
    ],
)
def test_each_fault_of_a_pack_is_an_error(packs: Path, row: str, what: str) -> None:
    head = "term,also,heard_as,broader,from,to,source\n"
    (packs / "one.csv").write_text(head + "a1,x1,,,,,known-source\n")
    (packs / "two.csv").write_text(head + row + "\n")
    (problem,) = lint()
    assert what in problem.what
    assert problem.level == "error"
    assert "two" in problem.where


@given(st.dictionaries(st.integers(0, 8), st.lists(st.integers(0, 8), max_size=3), max_size=9))
def test_a_circle_is_found_just_where_there_is_one(tmp_path_factory, parents):
    """Against the standard library's topological sort."""
    parents = {term: parents.get(term, []) for term in range(9)}
    path = tmp_path_factory.mktemp("x") / "mine.csv"
    rows = (f"t{term},{'; '.join(f't{a}' for a in above)}" for term, above in parents.items())
    path.write_text("term,broader\n" + "\n".join(rows) + "\n")
    found = [p.what.split(": ", 1)[1].split(" → ") for p in lint((path,)) if "circle" in p.what]
    try:
        graphlib.TopologicalSorter(parents).prepare()
    except graphlib.CycleError:
        assert found
    else:
        assert found == []
    for circle in found:
        assert circle[0] == circle[-1]
        assert all(int(b[1:]) in parents[int(a[1:])] for a, b in itertools.pairwise(circle))


def test_the_check_is_part_of_what_continuous_integration_runs() -> None:
    run = ROOT / ".ci" / "run"
    assert not run.exists() or "make VENV=.venv-ci test" in run.read_text()  # a source package has no .ci
    makefile = (ROOT / "Makefile").read_text()
    assert re.search(r"^test: .*\blint\b", makefile, re.MULTILINE)
    recipe = makefile.split("\nlint:")[1].split("\n\n")[0]
    assert "$(BIN)/episode vocab lint" in recipe


def test_on_the_command_line_one_fault_is_2(tmp_path: Path) -> None:
    path = tmp_path / "mine.csv"
    for text, status in (("term\nskelby dabber\n", 0), ("term,broader\na1,a1\n", 2)):
        path.write_text(text)
        ran = subprocess.run(
            [sys.executable, "-m", "episode", "vocab", "lint", str(path), "--json"], capture_output=True, text=True
        )
        assert ran.returncode == status, ran.stderr
        assert len(json.loads(ran.stdout)["problems"]) == (1 if status else 0)
