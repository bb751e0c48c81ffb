"""What video hosts ask of chapter stamps, read from the vocabulary's rules."""

from __future__ import annotations

import csv
import functools
import io
import re

from episode.lexicon.resources import vocab_root
from episode.models import Seconds, Value


class HostRules(Value):
    """Numbers that chapter lists and titles must keep to."""

    fewest: int
    """Fewer stamps than this and none are taken for chapters."""
    shortest_s: Seconds
    title_shown: int
    """Characters of a title that are shown before it is cut."""
    description_limit: int


@functools.cache
def host_rules() -> HostRules:
    """The rules, from ``vocab/rules/host_rules.csv``."""
    text = vocab_root().joinpath("rules").joinpath("host_rules.csv").read_text(encoding="utf-8")
    values = {row["rule"]: row["value"] for row in csv.DictReader(io.StringIO(text))}
    return HostRules(
        fewest=_number(values["minimum count"]),
        shortest_s=_number(values["minimum length"]),
        title_shown=_number(values["title length shown"]),
        description_limit=_number(values["description limit"]),
    )


def _number(text: str) -> int:
    found = re.search(r"\d[\d,]*", text)
    if found is None:
        raise ValueError(f"no number in the host rule {text!r}")
    return int(found.group().replace(",", ""))
