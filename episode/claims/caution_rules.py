"""Cautions as data: when each is in force, where, what sets it off, and its text."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from episode.lexicon.resources import vocab_root
from episode.record.load import load_record


@dataclass(frozen=True)
class Rule:
    """One row of ``vocab/rules/cautions.csv``."""

    kind: str
    case: str
    jurisdictions: frozenset[str]
    begins: date | None
    ends: date | None
    trigger: re.Pattern[str] | None
    never: re.Pattern[str] | None
    text: str
    source: str

    def heard(self, text: str) -> bool:
        """Whether the trigger stands in the text outside of what the rule passes over."""
        if self.trigger is None:
            return False
        left = self.never.sub(" ", text) if self.never else text
        return bool(self.trigger.search(left))

    @property
    def reference(self) -> str:
        """The rule's source in words."""
        return load_record().reference(self.source) if self.source else ""


def rules(jurisdiction: str, day: date) -> list[Rule]:
    """The rules in force there on that day, in the file's order."""
    return [
        rule
        for rule in _rules()
        if rule.jurisdictions & {jurisdiction, "*"}
        and (rule.begins is None or rule.begins <= day)
        and (rule.ends is None or day <= rule.ends)
    ]


@lru_cache(maxsize=1)
def _rules() -> tuple[Rule, ...]:
    path = vocab_root().joinpath("rules").joinpath("cautions.csv")
    return tuple(
        Rule(
            kind=row["kind"],
            case=row["case"],
            jurisdictions=frozenset(part.strip() for part in row["jurisdiction"].split(";")),
            begins=date.fromisoformat(row["from"]) if row["from"] else None,
            ends=date.fromisoformat(row["until"]) if row["until"] else None,
            trigger=re.compile(row["trigger"], re.IGNORECASE) if row["trigger"] else None,
            never=re.compile(row["never"], re.IGNORECASE) if row["never"] else None,
            text=row["text"],
            source=row["source"],
        )
        for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    )


@lru_cache(maxsize=8)
def words_of(name: str) -> frozenset[str]:
    """One list of ``vocab/rules/caution_terms.csv``."""
    path = vocab_root().joinpath("rules").joinpath("caution_terms.csv")
    for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
        if row["list"] == name:
            return frozenset(word.strip() for word in row["words"].split(";"))
    raise KeyError(name)
