"""Judging the record's data: what a person who adds facts to a spreadsheet gets wrong."""

from __future__ import annotations

from episode.errors import EpisodeError
from episode.lexicon.resources import vocab_root
from episode.models import Fact, Grade, Problem
from episode.record.load import TOPICS, read_facts, read_sources

UNSOURCED = frozenset({"from memory", "from-memory", "common-practice"})
"""Source keys that stand for no source: their facts can only be graded from memory."""


def lint() -> tuple[Problem, ...]:
    """Everything wrong with ``vocab/record`` and ``vocab/sources``; empty means sound.

    Unreadable rows, unknown topics and sources, years that run backwards, grades that claim a source where there
    is none, and the same fact twice.
    """
    try:
        facts, problems = read_facts(vocab_root().joinpath("record"))
        sources = read_sources(vocab_root().joinpath("sources").joinpath("sources.json"))
    except EpisodeError as error:
        return (Problem(where=error.where, what=error.what, remedy=error.remedy, level="error"),)
    seen: set[tuple[object, ...]] = set()
    found = list(problems)
    for fact in facts:
        found += [_problem(fact, what, remedy) for what, remedy in _faults(fact, sources)]
        key = (fact.about.casefold(), fact.topic, fact.statement.casefold(), fact.source)
        if key in seen:
            found.append(_problem(fact, "stands there twice", "Delete one of the rows."))
        seen.add(key)
    return tuple(found)


def _faults(fact: Fact, sources: dict[str, dict[str, object]]) -> list[tuple[str, str]]:
    faults = []
    if fact.topic not in TOPICS:
        faults.append((f"has the unknown topic {fact.topic!r}", "Topics are: " + ", ".join(sorted(TOPICS)) + "."))
    if fact.from_ is not None and fact.to is not None and fact.from_ > fact.to:
        faults.append((f"runs backwards, from {fact.from_} to {fact.to}", "Swap or mend the years; BC is negative."))
    if fact.source not in sources:
        faults.append((f"names the unknown source {fact.source!r}", "Add it to vocab/sources/sources.json."))
    if fact.source in UNSOURCED and fact.grade is not Grade.MEMORY:
        faults.append((f"is graded {fact.grade} and has no source", "Grade it `from memory`, or read a source."))
    if not fact.statement.strip():
        faults.append(("says nothing", "Fill in the statement."))
    return faults


def _problem(fact: Fact, what: str, remedy: str) -> Problem:
    where = f"vocab/record, {fact.about}: {fact.statement[:60]}"
    return Problem(where=where, what=what, remedy=remedy, level="error")
