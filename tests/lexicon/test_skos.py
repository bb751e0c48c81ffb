"""SKOS in and out, against the FISH Archaeological Objects Thesaurus and rdflib."""

import csv
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rdflib import RDF, SKOS, Graph, Literal, URIRef

from episode.errors import UnusableInput
from episode.lexicon.packs import load_lexicon
from episode.lexicon.skos import export_skos, import_skos

FISH = Path(__file__).parent / "data" / "fish_excerpt.rdf"
CONCEPTS = "http://purl.org/heritagedata/schemes/mda_obj/concepts/"


def rows(path: Path) -> dict[str, dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as stream:
        return {row["term"]: row for row in csv.DictReader(stream)}


def test_fish_labels_alternatives_hierarchy_and_notes(tmp_path: Path) -> None:
    count, problems = import_skos(FISH, tmp_path / "fish.csv")
    found = rows(tmp_path / "fish.csv")
    assert count == len(found) == 20
    jug = found["Bartmann Jug"]
    assert jug["also"] == "Bellarmine Jug"
    assert jug["broader"] == "Jug"
    assert jug["address"] == CONCEPTS + "163871"
    assert jug["source"] == "FISH Archaeological Objects Thesaurus"
    assert jug["match"] == CONCEPTS + "163871"
    assert "16th and 17th centuries" in jug["note"]
    assert found["Whetstone"]["also"] == "Hone"
    # "Jug" stands below two concepts in the thesaurus, and both are kept
    assert found["Jug"]["broader"] == "Container <By Form>; Drink Serving Container"
    # spellings that lead to the same name are kept as published
    assert found["Loomweight"]["also"] == "Loom Weight; Loom Weights; Loom-Weight; Loom-Weights"
    assert [p.what for p in problems if "published under" in p.what]
    lexicon = load_lexicon((), (tmp_path / "fish.csv",))
    colchester, brooch = lexicon.get("Colchester brooch"), lexicon.named("fibula")
    assert colchester
    assert brooch
    assert lexicon.is_a(colchester, brooch)


def test_a_thesaurus_can_be_named_as_a_vocabulary_file() -> None:
    lexicon = load_lexicon((), (FISH,))
    term = lexicon.named("bellarmine jug")
    assert term is not None
    assert term.term == "Bartmann Jug"


@pytest.mark.parametrize(("ending", "form"), [("ttl", "turtle"), ("jsonld", "json-ld"), ("nt", "nt")])
def test_every_form_gives_the_same_file(tmp_path: Path, ending: str, form: str) -> None:
    other = tmp_path / f"fish.{ending}"
    Graph().parse(FISH).serialize(other, format=form)
    import_skos(FISH, tmp_path / "a.csv")
    import_skos(other, tmp_path / "b.csv")
    assert (tmp_path / "a.csv").read_bytes() == (tmp_path / "b.csv").read_bytes()


def test_exported_packs_are_read_back_by_rdflib_and_by_ourselves(tmp_path: Path) -> None:
    lexicon = load_lexicon(("ceramics", "smoking", "wares"))
    export_skos(lexicon, tmp_path / "out.ttl")
    graph = Graph().parse(tmp_path / "out.ttl", format="turtle")
    assert len(set(graph.subjects(RDF.type, SKOS.Concept))) == len(lexicon.terms)
    assert {str(o) for o in graph.objects(None, SKOS.prefLabel)} == {t.term for t in lexicon.terms}
    (bowl,) = [s for s, o in graph.subject_objects(SKOS.prefLabel) if str(o) == "pipe bowl"]
    above = [str(graph.value(s, SKOS.prefLabel)) for s in graph.objects(bowl, SKOS.broader)]
    assert above == ["clay pipe"]
    import_skos(tmp_path / "out.ttl", tmp_path / "back.csv")
    back = load_lexicon((), (tmp_path / "back.csv",))
    for term in lexicon.terms:
        again = back.get(term.term)
        assert again is not None
        assert again.kind == term.kind
        assert set(again.also) == set(term.also)
        assert set(again.heard_as) == set(term.heard_as)
        assert (again.source, again.note) == (term.source, term.note)


def test_export_is_the_same_every_time(tmp_path: Path) -> None:
    for name in ("a.ttl", "b.ttl"):
        export_skos(load_lexicon(("glass",)), tmp_path / name)
    assert (tmp_path / "a.ttl").read_bytes() == (tmp_path / "b.ttl").read_bytes()


ENTITIES = """<?xml version="1.0"?>
<!DOCTYPE rdf:RDF [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">%s]>
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" xmlns:skos="http://www.w3.org/2004/02/skos/core#">
<skos:Concept rdf:about="urn:x"><skos:prefLabel>&b;</skos:prefLabel></skos:Concept></rdf:RDF>"""


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("more", ["", '<!ENTITY c SYSTEM "file:///etc/hostname">'])
def test_entities_are_refused(tmp_path: Path, encoding: str, more: str) -> None:
    path = tmp_path / "bad.rdf"
    path.write_bytes((ENTITIES % more).encode(encoding))
    with pytest.raises(UnusableInput, match="document type"):
        import_skos(path, tmp_path / "out.csv")
    assert not (tmp_path / "out.csv").exists()


@pytest.mark.parametrize(
    ("name", "text", "what"),
    [
        ("a.jsonld", '{"@context": "https://example.org/context", "a": 1}', "context by its address"),
        ("a.jsonld", '{"@graph": [{"@context": [{"@import": "x"}]}]}', "context by its address"),
        ("a.jsonld", "{nothing", "is no JSON"),
        ("a.ttl", "this is no turtle", "cannot be read as turtle"),
        ("a.rdf", "<rdf:RDF>", "cannot be read as xml"),
        ("a.ttl", "<urn:a> <urn:b> <urn:c> .", "no SKOS concept"),
        ("a.doc", "", "no ending of a SKOS file"),
    ],
)
def test_what_is_no_thesaurus_says_so(tmp_path: Path, name: str, text: str, what: str) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    with pytest.raises(UnusableInput, match=what) as caught:
        import_skos(path, tmp_path / "out.csv")
    assert name in caught.value.where


def test_labels_of_other_languages_capitals_doubles_and_semicolons(tmp_path: Path) -> None:
    path = tmp_path / "a.ttl"
    path.write_text(
        """@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
        <urn:1> a skos:Concept ; skos:prefLabel "TYG"@en, "Henkelbecher"@de ; skos:altLabel "cup; many-handled"@en-GB .
        <urn:2> a skos:Concept ; skos:prefLabel "Bartmannkrug"@de ; skos:narrower <urn:1> .
        <urn:3> a skos:Concept ; skos:prefLabel "tyg"@en .
        <urn:4> a skos:Concept .""",
        encoding="utf-8",
    )
    count, problems = import_skos(path, tmp_path / "out.csv")
    found = rows(tmp_path / "out.csv")
    assert count == 2
    assert found["tyg"]["also"] == "cup, many-handled"
    assert found["tyg"]["broader"] == "Bartmannkrug"
    assert sorted(p.what.split(" ")[0] for p in problems) == ["labels", "urn:4", "“tyg”"]
    assert "other languages were not kept (de)" in next(p.what for p in problems if p.level == "note")


KEPT = (SKOS.prefLabel, SKOS.altLabel, SKOS.hiddenLabel, SKOS.broader, SKOS.exactMatch, SKOS.closeMatch, SKOS.scopeNote)


def kept(file: Path) -> dict[str, set[tuple[str, str]]]:
    """What rdflib itself reads of the properties that a vocabulary file has a column for."""
    graph = Graph().parse(file)
    return {str(p): {(str(s), str(o)) for s, o in graph.subject_objects(p)} for p in KEPT}


def there_and_back(file: Path, folder: Path, ending: str) -> Path:
    import_skos(file, folder / "pack.csv")
    export_skos(load_lexicon((), (folder / "pack.csv",)), folder / f"back.{ending}")
    return folder / f"back.{ending}"


@pytest.mark.parametrize("ending", ["rdf", "ttl", "jsonld", "nt"])
def test_fish_comes_back_with_nothing_lost(tmp_path: Path, ending: str) -> None:
    back = there_and_back(FISH, tmp_path, ending)
    assert kept(back) == kept(FISH)
    import_skos(back, tmp_path / "again.csv")
    assert (tmp_path / "again.csv").read_bytes() == (tmp_path / "pack.csv").read_bytes()


MATCHES = """@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
<http://example.org/1> a skos:Concept ; skos:prefLabel "Tyg"@en ; skos:hiddenLabel "tig"@en ;
    skos:exactMatch <http://example.org/a>, <http://example.org/b;c> ; skos:closeMatch <http://example.org/d> ;
    skos:broader <http://example.org/2>, <http://example.org/3> .
<http://example.org/2> a skos:Concept ; skos:prefLabel "Cup"@en .
<http://example.org/3> a skos:Concept ; skos:prefLabel "Redware"@en ; skos:related <http://example.org/2> ."""


def test_matches_and_every_parent_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "a.ttl"
    path.write_text(MATCHES, encoding="utf-8")
    back = there_and_back(path, tmp_path, "ttl")
    expected, found = kept(path), kept(back)
    encoded = ("http://example.org/1", "http://example.org/b%3Bc")
    exact = expected[str(SKOS.exactMatch)]
    expected[str(SKOS.exactMatch)] = (exact - {("http://example.org/1", "http://example.org/b;c")}) | {encoded}
    assert found == expected
    lexicon = load_lexicon((), (tmp_path / "pack.csv",))
    tyg = lexicon.get("tyg")
    assert tyg
    assert tyg.match == "http://example.org/a"
    assert [t.term for t in lexicon.above(tyg)] == ["Cup", "Redware"]
    assert [t.term for t in lexicon.broader(tyg)] == ["Cup"]
    for name in ("Cup", "Redware"):
        other = lexicon.get(name)
        assert other
        assert lexicon.is_a(tyg, other)
        assert not lexicon.is_a(other, tyg)
    _, problems = import_skos(path, tmp_path / "b.csv")
    assert [p.what for p in problems] == ["1 relations between concepts (related) were not kept"]


@pytest.mark.parametrize("ending", ["rdf", "ttl", "jsonld", "nt"])
def test_export_does_not_depend_on_the_order_of_sets(tmp_path: Path, ending: str) -> None:
    run = (
        "from pathlib import Path; from episode.lexicon.packs import load_lexicon; "
        "from episode.lexicon.skos import export_skos; import sys; "
        "export_skos(load_lexicon((), (Path(sys.argv[1]),)), Path(sys.argv[2]))"
    )
    for seed in ("1", "2"):
        target = tmp_path / f"{seed}.{ending}"
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        subprocess.run([sys.executable, "-c", run, FISH, target], check=True, env=environment)
    assert (tmp_path / f"1.{ending}").read_bytes() == (tmp_path / f"2.{ending}").read_bytes()


def test_export_to_no_such_form_says_which_there_are(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput, match="no ending of a SKOS file"):
        export_skos(load_lexicon(("glass",)), tmp_path / "out.pdf")
    assert not (tmp_path / "out.pdf").exists()


labels = st.text(
    alphabet=st.characters(codec="utf-8", exclude_categories=["C", "Z"], exclude_characters=";"), min_size=1
)


@given(
    st.lists(st.tuples(labels, st.lists(labels, max_size=3)), min_size=1, max_size=4),
    st.sampled_from(["rdf", "jsonld"]),
)
def test_any_labels_survive(tmp_path_factory, concepts, ending):
    folder = tmp_path_factory.mktemp("x")
    graph = Graph()
    for number, (label, also) in enumerate(concepts):
        concept = URIRef(f"http://example.org/{number}")
        graph.add((concept, RDF.type, SKOS.Concept))
        graph.add((concept, SKOS.prefLabel, Literal(f"a{number} {label}", lang="en")))
        for name in also:
            graph.add((concept, SKOS.altLabel, Literal(f"b {name}", lang="en")))
    graph.serialize(folder / "a.ttl", format="turtle")
    assert kept(there_and_back(folder / "a.ttl", folder, ending)) == kept(folder / "a.ttl")


BOMB = """<?xml version="1.0"?>
<!DOCTYPE lolz [<!ENTITY l0 "lol">%s]>
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">&l9;</rdf:RDF>"""


def test_a_billion_laughs_are_not_laughed(tmp_path: Path) -> None:
    """The exponential entity expansion of CWE-776, in its usual shape."""
    path = tmp_path / "bomb.rdf"
    path.write_text(BOMB % "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10)), encoding="utf-8")
    with pytest.raises(UnusableInput, match="document type"):
        load_lexicon((), (path,))
