"""What the built-in packs and the record promise to those who read them."""

import csv
import json
from collections import Counter
from pathlib import Path

import pytest

from episode.lexicon.packs import load_lexicon
from episode.lexicon.resources import vocab_root
from episode.lexicon.show import describe, lines
from episode.models import Grade, Kind
from episode.record.load import NO_SOURCE, TOPICS, load_record, name_key

# Names that finds hunters use and general word lists lack, and two standard thesaurus names.
# Source of the trade names: common practice, no source; of the last two: FISH Archaeological Objects Thesaurus.
TRADE = [
    ("bartmann jug", "Bellarmine jar"), ("greybeard", "Bellarmine jar"), ("Westerwald", "Westerwald stoneware"),
    ("creamware", "creamware"), ("pearlware", "pearlware"), ("transferware", "transfer-printed ware"),
    ("shell-edged", "shell-edged ware"), ("delft", None), ("delftware", "delftware"), ("slipware", "slipware"),
    ("clay pipe bowl", "pipe bowl"), ("stem", "pipe stem"), ("cod bottle", "Codd bottle"),
    ("cod marble", "Codd marble"), ("torpedo bottle", "Hamilton bottle"), ("onion bottle", "onion bottle"),
    ("crown cork", "crown cap"), ("lead musket ball", "musket ball"), ("alnage seal", "cloth seal"),
    ("jeton", "jetton"), ("hammered silver", "hammered coin"), ("lace tag", "aglet"), ("rumbler bell", "crotal bell"),
    ("tesserae", "tessera"), ("hypocostile", "hypocaust tile"), ("spindle whirl", "spindle whorl"),
    ("potsherd", "sherd"), ("Colchester brooch", "Colchester brooch"), ("hone", "whetstone"),
]  # fmt: skip


@pytest.mark.parametrize(("said", "wanted"), [pair for pair in TRADE if pair[1]])
def test_trade_names_lead_where_the_trade_means(said: str, wanted: str) -> None:
    found = load_lexicon().named(said)
    assert found is not None
    assert found.term == wanted


def test_the_packs_are_wide_enough() -> None:
    kinds = Counter(term.kind for term in load_lexicon().terms)
    assert sum(kinds.values()) >= 350
    assert set(kinds) == set(Kind)


def test_materials_of_terms_are_terms_themselves() -> None:
    lexicon = load_lexicon()
    known = {name for name, term, _ in lexicon.names() if term.kind in {Kind.MATERIAL, Kind.WARE, Kind.OBJECT}}
    keys = {name_key(name) for name in known}
    assert sorted({t.material for t in lexicon.terms if t.material and name_key(t.material) not in keys}) == []


def test_a_range_in_a_pack_names_what_was_read() -> None:
    dated = [t for t in load_lexicon().terms if t.from_ is not None or t.to is not None]
    assert dated
    assert [t.term for t in dated if t.source in {"common-practice", NO_SOURCE, None}] == []


def test_periods_are_those_of_the_historic_england_list() -> None:
    # Historic England Periods List, 8 April 2026: Roman 43-410, Post Medieval 1540-1901, Victorian 1837-1901,
    # Bronze Age 2600-700 BC (BC years are astronomical here: 2600 BC is -2599)
    lexicon, record = load_lexicon(), load_record()
    for name, first, last in (
        ("Roman", 43, 410),
        ("post-medieval", 1540, 1901),
        ("Victorian", 1837, 1901),
        ("Bronze Age", -2599, -699),
    ):
        term = lexicon.get(name)
        assert term is not None
        assert (term.from_, term.to) == (first, last)
        fact = record.periods[name_key(name)]
        assert (fact.from_, fact.to, fact.grade) == (first, last, Grade.PRIMARY)


def test_facts_are_of_known_topics_and_tied_to_terms_and_sources() -> None:
    lexicon, record = load_lexicon(), load_record()
    assert len(record.facts) >= 250
    for fact in record.facts:
        assert fact.topic in TOPICS, fact
        assert fact.source in record.sources, fact
        assert (fact.source == NO_SOURCE) == (fact.grade is Grade.MEMORY), fact
        assert fact.from_ is None or fact.to is None or fact.from_ <= fact.to, fact
        assert fact.topic in {"reign", "period"} or lexicon.named(fact.about), fact


def test_no_fact_stands_twice() -> None:
    told = Counter((name_key(f.about), f.topic, f.from_, f.to, f.source, f.statement) for f in load_record().facts)
    assert [key for key, times in told.items() if times > 1] == []


def test_sources_say_what_they_are_and_under_which_licence() -> None:
    text = vocab_root().joinpath("sources").joinpath("sources.json").read_text(encoding="utf-8")
    items = json.loads(text)
    ids = [item["id"] for item in items]
    assert len(ids) == len(set(ids))
    assert [item["id"] for item in items if not (item.get("title") and item.get("type") and item.get("license"))] == []
    used = {f.source for f in load_record().facts} | {t.source for t in load_lexicon().terms}
    assert used <= set(ids)


def test_the_rule_tables_name_known_sources() -> None:
    known = load_record().sources
    for name in ("law.csv", "host_rules.csv", "caption_rules.csv"):
        text = vocab_root().joinpath("rules").joinpath(name).read_text(encoding="utf-8")
        rows = list(csv.DictReader(text.splitlines()))
        assert rows
        assert [row for row in rows if row["source"] not in known] == []


def test_matches_point_into_the_thesaurus_whose_label_agrees() -> None:
    # FISH: the excerpt holds concepts 163871 Bartmann Jug (alternative: Bellarmine Jug) and 97042 Loomweight
    lexicon = load_lexicon()
    scheme = "http://purl.org/heritagedata/schemes/mda_obj/concepts/"
    for name, number in (("Bellarmine jar", "163871"), ("loom weight", "97042"), ("whetstone", "96475")):
        term = lexicon.get(name)
        assert term is not None
        assert term.match == scheme + number


def test_a_term_is_shown_with_its_facts() -> None:
    lexicon = load_lexicon()
    term = lexicon.named("cod bottle")
    assert term is not None
    known = describe(term, lexicon)
    assert known["broader"] == ["mineral water bottle", "bottle", "vessel glass"]
    assert any(f["topic"] == "patent" and f["from"] == 1870 for f in known["facts"])
    text = "\n".join(lines(term, lexicon))
    assert "known mishearings: cod bottle" in text
    assert "24 November 1870" in text
    json.dumps(known)
    iron = lexicon.get("Late Iron Age")
    assert iron is not None
    assert "dated: 100 BC–43" in "\n".join(lines(iron, lexicon))


def test_an_editable_checkout_is_read_where_it_is_edited() -> None:
    root = vocab_root()
    assert isinstance(root, Path)
    assert root.name in {"vocab", "_vocab"}
    assert root.joinpath("terms").is_dir()
