"""The reigns of the record with their first and last days."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from episode.models import Fact
from episode.record.load import load_record, name_key

Day = tuple[int, int, int]
_DAYS = re.compile(r"(\d{4})-(\d\d)-(\d\d)")


@dataclass(frozen=True, slots=True)
class Reign:
    """First and last day as year, month and day in the calendar of the time; ``last`` is ``None`` for one going on."""

    name: str
    first: Day
    last: Day | None
    fact: Fact


@lru_cache(maxsize=1)
def reigns() -> dict[str, Reign]:
    """Reigns by the key of their name; one that gives its last day wins over one that does not."""
    found: dict[str, Reign] = {}
    for fact in load_record().facts:
        days = [(int(y), int(m), int(d)) for y, m, d in _DAYS.findall(fact.statement)]
        if fact.topic == "reign" and days:
            reign = Reign(fact.about, days[0], days[1] if len(days) > 1 else None, fact)
            known = found.get(name_key(fact.about))
            if known is None or known.last is None:
                found[name_key(fact.about)] = reign
    return found
