"""The record: what is published about types, wares, makers, periods, reigns and events, with sources."""

from __future__ import annotations

import csv
import json
from functools import lru_cache
from importlib.resources.abc import Traversable
from typing import Any

from pydantic import ValidationError

from episode.errors import UnusableInput
from episode.lexicon.resources import vocab_root
from episode.models import Fact, Grade, Problem
from episode.record.references import short_reference

COLUMNS = ("about", "topic", "statement", "from", "to", "place", "person", "source", "grade", "note")
TOPICS = frozenset(
    [
        "range",
        "introduced",
        "withdrawn",
        "reign",
        "period",
        "active",
        "life",
        "patent",
        "event",
        "place",
        "material",
        "origin",
        "rule",
    ]
)
NO_SOURCE = "from memory"
"""The source key of a fact that nobody read in a source; its grade must say the same."""


class Record:
    """Facts by what they are about. Read-only; build it once with ``load_record``."""

    def __init__(self, facts: tuple[Fact, ...], sources: dict[str, dict[str, Any]]) -> None:
        self.facts = facts
        self.sources = sources
        self._about: dict[str, list[Fact]] = {}
        self._person: dict[str, list[Fact]] = {}
        for fact in facts:
            self._about.setdefault(name_key(fact.about), []).append(fact)
            if fact.person:
                self._person.setdefault(name_key(fact.person), []).append(fact)
        self.periods = _dated(facts, "period")
        self.reigns = _dated(facts, "reign")

    def about(self, name: str) -> tuple[Fact, ...]:
        """The facts about a term or name, whatever its capitals and hyphens; then those that name it as a person."""
        key = name_key(name)
        found = self._about.get(key, [])
        return (*found, *(f for f in self._person.get(key, ()) if f not in found))

    def unreviewed(self, source: str) -> bool:
        """Whether the source is one that anyone may write in unseen: an open encyclopedia, a forum, a sales page.

        Its facts are kept as places to look; alone they decide nothing.
        """
        return "unreviewed" in str(self.sources.get(source, {}).get("keyword", ""))

    def reference(self, source: str) -> str:
        """A short reference in words for a source key; the key itself where it is unknown."""
        item = self.sources.get(source)
        return short_reference(item) if item else source


def name_key(name: str) -> str:
    """How names are compared: case-folded, hyphens as spaces, single spaces."""
    return " ".join(name.casefold().replace("-", " ").replace("’", "'").split())


@lru_cache(maxsize=1)
def load_record() -> Record:
    """The built-in record, read and checked once.

    Raises:
        UnusableInput: the data is missing or a row of it cannot be read; the message names file and row.
    """
    facts, problems = read_facts(vocab_root().joinpath("record"))
    for problem in problems:
        raise UnusableInput(problem.what, where=problem.where, remedy=problem.remedy)
    return Record(facts, read_sources(vocab_root().joinpath("sources").joinpath("sources.json")))


def read_facts(folder: Traversable) -> tuple[tuple[Fact, ...], tuple[Problem, ...]]:
    """Every fact of every CSV in ``folder`` whose heading has the columns of a fact, and the rows that are none."""
    facts: list[Fact] = []
    problems: list[Problem] = []
    for path in sorted((p for p in folder.iterdir() if p.name.endswith(".csv")), key=lambda p: p.name):
        rows = csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines())
        if not {"about", "topic", "statement", "source", "grade"} <= set(rows.fieldnames or ()):
            continue
        for number, row in enumerate(rows, start=2):
            cells = {column: (row.get(column) or "").strip() for column in COLUMNS}
            years = {end: cells[end] or None for end in ("from", "to")}
            try:
                facts.append(Fact.model_validate({**cells, **years}))
            except ValidationError as error:
                first = error.errors()[0]
                problems.append(
                    Problem(
                        where=f"{path.name}, row {number}, column {first['loc'][0] if first['loc'] else '?'}",
                        what=first["msg"],
                        remedy="Correct the cell; grades are: " + ", ".join(g.value for g in Grade) + ".",
                        level="error",
                    )
                )
    return tuple(facts), tuple(problems)


def read_sources(path: Traversable) -> dict[str, dict[str, Any]]:
    """The sources (CSL-JSON) by key.

    Raises:
        UnusableInput: the file is missing, is no JSON, or an item has no ``id``.
    """
    try:
        items = json.loads(path.read_text(encoding="utf-8"))
        return {str(item["id"]): item for item in items}
    except OSError as error:
        raise UnusableInput("the list of sources cannot be read", where=str(path)) from error
    except (ValueError, KeyError, TypeError) as error:
        raise UnusableInput(f"is no list of CSL-JSON items with ids ({error})", where=str(path)) from error


def _dated(facts: tuple[Fact, ...], topic: str) -> dict[str, Fact]:
    """The facts of one topic by key of their name; a sourced one wins over one from memory."""
    found: dict[str, Fact] = {}
    for fact in facts:
        if fact.topic == topic and fact.from_ is not None:
            known = found.get(name_key(fact.about))
            if known is None or (known.grade is Grade.MEMORY and fact.grade is not Grade.MEMORY):
                found[name_key(fact.about)] = fact
    return found
