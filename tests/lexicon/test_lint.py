"""Each fault of a vocabulary file is found and named; the built-in packs have none."""

from pathlib import Path

import pytest

from episode.lexicon.lint import lint


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
