"""Dates that only begin: "made from about 1600" says nothing of when it ended."""

from __future__ import annotations

import re
from functools import lru_cache

from episode.claims.cues import phrases
from episode.models import DateSpan
from episode.record import edtf_out

_BETWEEN = (
    r"(?:\s+(?:them|these|those|it|this stuff|here|there|locally|widely|commonly|everywhere|again|"
    r"(?:in|at|by|across|all over|throughout)(?:\s+[\w'’-]+){1,3}))?"
)
_ONE_OBJECT = re.compile(
    r"\b(?:mine|(?:this|that|the) one|(?:this|that)(?! (?:type|kind|sort|style|pattern|ware|shape|form|design|stuff|"
    r"method|sort)\b))\b",
    re.IGNORECASE,
)
_FROM = re.compile(r"from\s+", re.IGNORECASE)
_ENDS = re.compile(r"\s*,?\s*(?:right )?(?:(?:up )?to|until|till|through(?: to)?|into|[-–])\b", re.IGNORECASE)


def begun(text: str, span: DateSpan) -> DateSpan:
    """``span`` opened to the end where it is said as the beginning of something that lasted: a terminus post quem.

    "Made", "smoked" or "in use" before "from" speaks of a type, "this one" of an object; a date of an object
    and a range with an end stay as they are. "From the 1680s" alone tells where a thing belongs, and stays too.
    """
    if span.kind not in {"year", "decade", "century"} or span.from_ is None or _ENDS.match(text[span.until :]):
        return span
    lead = _FROM.match(span.text)
    before = text[: span.at] if lead else re.sub(r"\bfrom\s+(?:the\s+)?$", "", text[: span.at], flags=re.IGNORECASE)
    if not lead and before == text[: span.at]:
        return span
    said = _lasting().search(before)
    if said is None or _ONE_OBJECT.search(_clause(before[: said.start()])):
        return span
    mark = edtf_out.mark(approximate=span.approximate, uncertain=span.uncertain)
    first = _first(span)
    return span.model_copy(update={"to": None, "edtf": edtf_out.interval(first, None, mark), "kind": "after"})


def _first(span: DateSpan) -> int:
    """The year named, or the first of the decade or century; the circa of a year lies in its mark."""
    named = re.match(r"-?\d{4}", span.edtf)
    return int(named.group()) if named and span.kind == "year" else span.from_ or 0


def _clause(before: str) -> str:
    return re.split(r"[,;:.]|\b(?:and|but|because|so)\b", before)[-1]


@lru_cache(maxsize=1)
def _lasting() -> re.Pattern[str]:
    words = "|".join(re.escape(p) for p in sorted(phrases("lasting"), key=len, reverse=True))
    return re.compile(rf"(?<!\w)(?:{words}){_BETWEEN}\s*$", re.IGNORECASE)
