"""Plain arithmetic and the calendar: what a sentence's own figures and days do not agree with."""

from __future__ import annotations

import re
from collections.abc import Sequence

from episode.claims.intervals import gap
from episode.claims.said import years
from episode.models import DateSpan
from episode.record.ages import years_at
from episode.record.numbers import cardinal
from episode.record.tokens import Token, tokens
from episode.record.weekdays import said_weekday, weekday

_DAY = re.compile(r"^(-?\d{4})-(\d\d)-(\d\d)")
_LASTED = re.compile(
    r"\b(?:for|lasted|ran for|reigned for|so|that['’]s|nearly|almost|over|about)\s+(?:\w+\s+)?$", re.IGNORECASE
)
_AGED = re.compile(r"\b(?:aged|at the age of)\s+$", re.IGNORECASE)
_GIVE = 1


def arithmetic(text: str, span: DateSpan, spans: Sequence[DateSpan]) -> list[str]:
    """What does not add up about ``span``, in words; ``spans`` are all dates of the sentence ``text``.

    A weekday that its date was not, a length of time that its two years do not give, an age that the year
    beside it does not give.
    """
    return [note for note in (_weekday(text, span), _length(text, span, spans), _age(span, spans)) if note]


def _weekday(text: str, span: DateSpan) -> str:
    day = _DAY.match(span.edtf)
    said = said_weekday(text, span.at, span.until) if day else None
    if day is None or said is None:
        return ""
    real = weekday(int(day.group(1)), int(day.group(2)), int(day.group(3)))
    if real is None:
        return f"there was no {span.text}: 3 to 13 September 1752 were left out in Britain"
    return "" if real == said else f"{span.text} was a {real}, not a {said}"


def _length(text: str, span: DateSpan, spans: Sequence[DateSpan]) -> str:
    """Two years of one range, or two single years in the sentence, against the length or age said with them."""
    if span.kind == "range" and not span.approximate and None not in (span.from_, span.to):
        ends: tuple[int, int] = (span.from_ or 0, span.to or 0)
    else:
        single = [s.from_ for s in spans if s.kind == "year" and not s.approximate and s.from_ is not None]
        if len(single) != 2 or span.from_ not in single:
            return ""
        ends = min(single), max(single)
    words = tokens(text)
    for at, word in enumerate(words):
        inside = any(s.at <= word.at < s.until for s in spans)
        if inside or not (word.is_number or word.raw[0].isalpha()):
            continue
        before = text[: word.at]
        found = years_at(words, at) if _LASTED.search(before) or before.endswith("(") else None
        number = (found.years, found.give, found.end) if found else _aged(words, at, before)
        if number and not _ago(words, number[2]) and abs(number[0] - (ends[1] - ends[0])) > max(_GIVE, number[1]):
            return f"from {ends[0]} to {ends[1]} is {ends[1] - ends[0]} years, not {number[0]}"
    return ""


def _aged(words: list[Token], at: int, before: str) -> tuple[int, int, int] | None:
    found = cardinal(words, at) if _AGED.search(before) else None
    return (found[0], 0, found[1]) if found else None


def _ago(words: list[Token], at: int) -> bool:
    return at < len(words) and words[at].word in {"old", "ago", "before", "after", "later", "earlier"}


def _age(span: DateSpan, spans: Sequence[DateSpan]) -> str:
    """An age said of the same thing as a year, where there is one of each."""
    others = [s for s in spans if s.at != span.at]
    if len(others) != 1 or (span.kind == "age") == (others[0].kind == "age"):
        return ""
    mine, other = (span.from_, span.to), (others[0].from_, others[0].to)
    if not gap(mine, other):
        return ""
    return f"“{span.text}” is {years(*mine)}, but “{others[0].text}” is {years(*other)}"
