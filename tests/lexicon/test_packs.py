"""Whose row wins, whose name it is, and what a person is told."""

from pathlib import Path

import pytest

from episode.errors import UnusableInput
from episode.lexicon.packs import load_lexicon, pack_names
from episode.models import How, Kind, Term


def own(folder: Path, text: str, name: str = "mine.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_all_packs_some_none_and_an_unknown_one() -> None:
    everything = load_lexicon()
    assert {term.pack for term in everything.terms} == set(pack_names())
    assert {term.pack for term in load_lexicon(("glass", "Smoking")).terms} == {"glass", "smoking"}
    assert load_lexicon(()).terms == ()
    with pytest.raises(UnusableInput) as caught:
        load_lexicon(("glas",))
    assert "glas" in caught.value.what
    assert "glass" in caught.value.remedy


def test_a_row_of_theirs_replaces_the_built_in_one_and_says_what_is_lost(tmp_path: Path) -> None:
    lexicon = load_lexicon(None, (own(tmp_path, "term,kind,from,to\ncodd bottle,object,1875,1930\n"),))
    term = lexicon.get("Codd bottle")
    assert term is not None
    assert (term.term, term.from_, term.to, term.pack) == ("codd bottle", 1875, 1930, "mine")
    assert lexicon.named("Codd-neck bottle") is None
    assert any("Codd-neck bottle" in p.what and p.level == "note" for p in lexicon.problems)
    assert sum(t.term.casefold() == "codd bottle" for t in lexicon.terms) == 1


def test_a_name_of_theirs_is_theirs_whichever_built_in_term_has_it(tmp_path: Path) -> None:
    lexicon = load_lexicon(None, (own(tmp_path, "term,also\nwhiskers jug,Bellarmine jar; greybeard; tig\n"),))
    for name in ("whiskers jug", "bellarmine JAR", "Greybeard", "tig"):
        found = lexicon.named(name)
        assert found is not None
        assert found.term == "whiskers jug", name
    other = lexicon.named("Bartmann jug")
    assert other is not None
    assert other.term == "Bellarmine jar"
    owners = [(name, term.term) for name, term, _ in lexicon.names() if name.casefold() == "bellarmine jar"]
    assert owners == [("Bellarmine jar", "whiskers jug")]


def test_of_two_files_the_later_wins(tmp_path: Path) -> None:
    first = own(tmp_path, "term,also\nblobware,spotty ware\n", "a.csv")
    second = own(tmp_path, "term,also,note\nBlobware,dotty ware,newer\n", "b.csv")
    lexicon = load_lexicon((), (first, second))
    assert [(t.term, t.note) for t in lexicon.terms] == [("Blobware", "newer")]
    assert lexicon.named("spotty ware") is None


def test_names_once_each_with_how(tmp_path: Path) -> None:
    path = own(tmp_path, "term,also,heard_as\nloom weight,loomweight; loom-weight,loom wait\ntyg,Loom Wait,tig\n")
    lexicon = load_lexicon((), (path,))
    assert [(name, term.term, how) for name, term, how in lexicon.names()] == [
        ("loom weight", "loom weight", How.WRITTEN),
        ("tyg", "tyg", How.WRITTEN),
        ("loomweight", "loom weight", How.OTHER_NAME),
        ("Loom Wait", "tyg", How.OTHER_NAME),
        ("tig", "tyg", How.MISHEARING),
    ]


def test_terms_added_since_displace_nothing() -> None:
    extra = (
        Term(term="Bellarmine Jar", kind=Kind.OBJECT, also=("grumpy jug", "sherd")),
        Term(term="skelby ware", kind=Kind.WARE, also=("creamware",)),
        Term(term="Skelby ware", kind=Kind.WARE, also=("mud ware",)),
    )
    lexicon = load_lexicon(None, (), extra)
    for name, wanted in (
        ("grumpy jug", "Bellarmine jar"),
        ("greybeard", "Bellarmine jar"),
        ("sherd", "sherd"),
        ("creamware", "creamware"),
        ("mud ware", "skelby ware"),
    ):
        found = lexicon.named(name)
        assert found is not None
        assert found.term == wanted, name


def test_broader_chain_stops_at_a_circle_and_at_an_unknown_name(tmp_path: Path) -> None:
    lexicon = load_lexicon((), (own(tmp_path, "term,broader\na1,b1\nb1,c1\nc1,a1\nd1,nowhere\n"),))
    a, b, d = lexicon.get("a1"), lexicon.get("b1"), lexicon.get("d1")
    assert a
    assert b
    assert d
    assert [t.term for t in lexicon.broader(a)] == ["b1", "c1"]
    assert lexicon.broader(d) == []
    assert lexicon.is_a(a, b)
    assert not lexicon.is_a(d, b)


def test_the_pipe_bowl_is_a_clay_pipe() -> None:
    lexicon = load_lexicon()
    bowl, pipe, jar = lexicon.named("clay pipe bowl"), lexicon.get("clay pipe"), lexicon.get("jar")
    assert bowl
    assert pipe
    assert jar
    assert lexicon.is_a(bowl, pipe)
    assert not lexicon.is_a(pipe, bowl)
    assert not lexicon.is_a(bowl, jar)


def test_doubtful_cells_are_named_and_the_row_kept(tmp_path: Path) -> None:
    text = (
        "term,kind,from,to,everyday,colour\n"
        "blobware,potery,c. 1700,1750.0,perhaps,red\n"
        "dottyware,Ware,1800,1750,yes,\n"
        ",ware,,,,\n"
        "Blobware,ware,,,,\n"
    )
    lexicon = load_lexicon((), (own(tmp_path, text),))
    assert [(t.term, t.kind.value, t.from_, t.to, t.everyday) for t in lexicon.terms] == [
        ("blobware", "object", None, 1750, False),
        ("dottyware", "ware", None, None, True),
    ]
    said = {(p.where.rsplit(", ", 1)[1], p.level) for p in lexicon.problems}
    assert said == {
        ("row 1", "note"),
        ("row 2", "warning"),
        ("row 3", "warning"),
        ("row 4", "warning"),
        ("row 5", "warning"),
    }
    assert any("colour" in p.what for p in lexicon.problems)
    assert sum(p.where.endswith("row 2") for p in lexicon.problems) == 3


def test_no_term_column_is_refused_with_the_columns_that_are_there(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput) as caught:
        load_lexicon((), (own(tmp_path, "name,kind\nblobware,ware\n"),))
    assert "name, kind" in caught.value.what
    assert "heard_as" in caught.value.remedy


def test_years_before_christ_are_astronomical(tmp_path: Path) -> None:
    lexicon = load_lexicon((), (own(tmp_path, "term,kind,from,to\nlandings,period,-54,\u22120\n"),))
    assert (lexicon.terms[0].from_, lexicon.terms[0].to) == (-54, 0)


def test_everyday_names() -> None:
    lexicon = load_lexicon()
    assert lexicon.everyday("pin")
    assert lexicon.everyday("Stem")
    assert not lexicon.everyday("pipe stem")
    assert not lexicon.everyday("no such name")
