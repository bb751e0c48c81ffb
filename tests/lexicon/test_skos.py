"""SKOS in and out, against the FISH Archaeological Objects Thesaurus and rdflib."""

import csv
from pathlib import Path

import pytest
from rdflib import RDF, SKOS, Graph

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
    assert jug["match"] == CONCEPTS + "163871"
    assert "16th and 17th centuries" in jug["note"]
    assert found["Whetstone"]["also"] == "Hone"
    # "Jug" stands below two concepts in the thesaurus: one is kept, and that is said
    assert any("Jug" in p.what and "Container <By Form>" in p.what for p in problems)
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
    assert sorted(p.what.split(" ")[0] for p in problems) == ["urn:4", "“tyg”"]
