"""How units of time are joined into phrases: ranges, alternatives, bounds, circa and doubt."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from episode.record.conventions import Convention
from episode.record.leads import Lead, lead_at, tail_at
from episode.record.numbers import TENS, UNITS, below_hundred, ordinal
from episode.record.parts import part_at
from episode.record.tokens import Token
from episode.record.units import Unit, bare_number, century, short_century, unit_at, with_part
from episode.record.wordlists import wordlist
from episode.record.years import year_at


@dataclass(frozen=True, slots=True)
class Phrase:
    """A whole phrase: its first unit, its second where it is a range, and how it is bounded and qualified."""

    first: Unit
    second: Unit | None
    bound: str
    start: int
    end: int
    approximate: bool
    second_approximate: bool
    uncertain: bool
    either: bool = False
    give: int | None = None


def phrase_at(words: list[Token], at: int, rules: Convention, filmed: date | None) -> Phrase | None:
    """The longest date phrase that begins at ``at``, or ``None``."""
    lead = lead_at(words, at)
    first, second, either = _points(words, lead, rules, filmed)
    if first is None or not _bound_fits(first, lead):
        return None
    end = second.end if second else first.end
    tail = tail_at(words, end, open_end=second is None)
    return Phrase(
        first=first,
        second=second,
        bound=tail.bound or lead.bound,
        start=lead.start,
        end=tail.end,
        approximate=lead.approximate or first.approximate or (tail.approximate and second is None),
        second_approximate=bool(
            second and (second.approximate or tail.approximate or _close_range(words, first, lead))
        ),
        uncertain=lead.uncertain or tail.uncertain,
        either=either,
        give=tail.give,
    )


def _close_range(words: list[Token], first: Unit, lead: Lead) -> bool:
    """In "c.1830-41" and "about 1830 to 1841" the circa is of the whole range; in "from about 1830 to 1841" it is not."""
    if not lead.approximate or first.end >= len(words):
        return False
    joint = words[first.end]
    return (joint.word == "-" and joint.close) or (joint.word == "to" and lead.word != "from")


def _bound_fits(first: Unit, lead: Lead) -> bool:
    """Such as "by Charles the Second" names a person, not a date."""
    return not (lead.word == "by" and first.kind in {"period", "reign"})


def _points(
    words: list[Token], lead: Lead, rules: Convention, filmed: date | None
) -> tuple[Unit | None, Unit | None, bool]:
    first = _era_pair(words, lead, rules, filmed) or unit_at(words, lead.end, rules, filmed)
    if first is None:
        return _partial_pair(words, lead, rules, filmed)
    if lead.bound and lead.word != "until":
        return _with_last_figures(words, first), None, False
    join = _join(words, first.end, between=lead.between)
    if join is None:
        return first, None, False
    second = _second(words, join, first, rules, filmed)
    if second is None or not _in_order(first, second):
        return first, None, False
    if join.either or not lead.bound:
        return first, second, join.either
    return first, None, False


def _with_last_figures(words: list[Token], first: Unit) -> Unit:
    """Such as "1819-20" after "before" or "after": one stretch."""
    join = _join(words, first.end)
    if join is None or not join.dash or not words[first.end].close:
        return first
    second = _short_year(words, join, first)
    return replace(first, hi=second.hi, kind="range", end=second.end, atom="") if second else first


def _era_pair(words: list[Token], lead: Lead, rules: Convention, filmed: date | None) -> Unit | None:
    """Such as "1200 - 1500 BP", "1100 to 700 BC": the era of the second belongs to the first as well."""
    if not words[lead.end : lead.end + 1] or not words[lead.end].is_number:
        return None
    pair = _bare_pair(words, lead, rules, filmed)
    return pair if pair and ((pair.hi or 0) <= 0 or words[pair.end - 1].word == "bp") else None


@dataclass(frozen=True, slots=True)
class _Join:
    end: int
    dash: bool
    either: bool
    word: str


_JOINS = {
    ("right", "up", "to"),
    ("right", "through", "to"),
    ("all", "the", "way", "to"),
    ("all", "the", "way", "through", "to"),
    ("all", "the", "way", "up", "to"),
    ("through", "to"),
    ("through", "into"),
    ("up", "to"),
    ("up", "until"),
    ("up", "till"),
    ("on", "into"),
    ("and", "into"),
    ("and", "on", "into"),
    ("down", "to"),
    ("over", "to"),
    ("to",),
    ("until",),
    ("till",),
    ("through",),
    ("thru",),
    ("into",),
}
_LONGEST_JOIN = max(len(j) for j in _JOINS)


def _join(words: list[Token], at: int, *, between: bool = False) -> _Join | None:
    if at >= len(words):
        return None
    word = words[at].word
    if word in {"-", "/"}:
        end = at + 1
        while end < len(words) and words[end].word == "-" and end < at + 3:
            end += 1
        return _Join(end, True, word == "/", word)
    if word == "or":
        return _Join(at + 1, False, True, word)
    if word in {"and", "&"}:
        return _Join(at + 1, False, False, "between" if between else "and")
    hedged = _after_hedge(words, at)
    if hedged is not None:
        return hedged
    if word == ",":
        return _Join(at + 1, False, False, ",")
    return _plain_join(words, at)


_HEDGES = (
    ("or", "perhaps"),
    ("and", "maybe"),
    ("and", "perhaps"),
    ("maybe",),
    ("perhaps",),
    ("possibly",),
    ("probably",),
)


def _after_hedge(words: list[Token], at: int) -> _Join | None:
    """Such as "late fifteen hundreds, maybe into the sixteen twenties": a range with a doubtful end."""
    here = at + 1 if words[at].word == "," else at
    for hedge in _HEDGES:
        if tuple(w.word for w in words[here : here + len(hedge)]) == hedge:
            join = _plain_join(words, here + len(hedge))
            return join if join and words[join.end - 1].word in {"into", "to", "until", "till", "through"} else None
    return None


def _plain_join(words: list[Token], at: int) -> _Join | None:
    for length in range(_LONGEST_JOIN, 0, -1):
        if tuple(w.word for w in words[at : at + length]) in _JOINS:
            return _Join(at + length, False, False, "to")
    return None


def _second(words: list[Token], join: _Join, first: Unit, rules: Convention, filmed: date | None) -> Unit | None:
    """The far end of a range: a unit of its own, or the last figures of a year ("1839-75")."""
    if join.word in {"and", ","}:
        return None
    short = _short_year(words, join, first)
    if short:
        return _prolonged(words, short)
    lead = lead_at(words, join.end, joined=True)
    if lead.bound and lead.word != "until":
        return None
    unit = unit_at(words, lead.end, rules, filmed)
    if unit is None and join.dash and lead.end > join.end:
        unit = _short_year(words, replace(join, end=lead.end), first, led=True)
    if unit is None or unit.kind == "age":
        return None
    unit = _prolonged(words, unit)
    if lead.approximate and not unit.approximate:
        unit = replace(unit, approximate=True)
    return unit


def _prolonged(words: list[Token], unit: Unit) -> Unit:
    """The far end of a range that is a range itself: "1794-c.1830-5", "1932-3-1936"."""
    join = _join(words, unit.end)
    if unit.kind != "year" or join is None or join.word != "-" or not words[unit.end].close:
        return unit
    found = _short_year(words, join, unit)
    year = None if found or join.end >= len(words) else year_at(words, join.end)
    if year and unit.lo is not None and year[0] > unit.lo:
        found = Unit(year[0], year[0], "year", year[1])
    return found or unit


def _short_year(words: list[Token], join: _Join, first: Unit, *, led: bool = False) -> Unit | None:
    if first.kind != "year" or first.lo is None or first.lo < 1000 or join.end >= len(words):
        return None
    token = words[join.end]
    within = first.lo % 100
    base = first.lo - within
    if token.is_number and token.digits <= 2 and token.value is not None:
        following = words[join.end + 1] if join.end + 1 < len(words) else None
        if following is not None and following.close and (following.raw[0].isalpha() or following.word in {":", "%"}):
            return None
        if token.digits == 1 and not ((join.dash and (token.close or led)) or _or_last_figure(words, join)):
            return None
        scale = 10**token.digits
        value = first.lo - first.lo % scale + token.value
        if value <= first.lo or (following is not None and following.word in wordlist("counted")):
            return None
        return Unit(value, value, "year", join.end + 1)
    if not join.dash and token.word in {*TENS, *UNITS} and words[first.end - 1].raw[0].isalpha():
        rest = below_hundred(words, join.end)
        if (
            rest
            and rest[0] > within
            and rest[0] >= 10
            and not (rest[1] < len(words) and words[rest[1]].word in wordlist("counted") | {"hundred", "thousand", "-"})
        ):
            return Unit(base + rest[0], base + rest[0], "year", rest[1])
    return None


def _or_last_figure(words: list[Token], join: _Join) -> bool:
    """Such as "1831 or 2" and nothing after it that could be counted."""
    return join.word == "or" and _closes(words, join.end + 1)


def _in_order(first: Unit, second: Unit) -> bool:
    if first.lo is None or second.hi is None:
        return True
    return first.lo <= second.hi and (second.lo is None or second.lo >= first.lo)


def _partial_pair(
    words: list[Token], lead: Lead, rules: Convention, filmed: date | None
) -> tuple[Unit | None, Unit | None, bool]:
    """Such as "mid to late 18th century", "late 17th into the early 18th", "18th and 19th centuries", "55 to 54 BC"."""
    partial = _partial(words, lead.end)
    if partial is None:
        return _bare_pair(words, lead, rules, filmed), None, False
    part, number, end = partial
    join = _join(words, end, between=True)
    alone = century(number, end) if number >= 10 and part and _closes(words, end) else None
    if alone:
        alone = with_part(alone, part, rules)
    if join is None:
        return alone, None, False
    second_lead = lead_at(words, join.end, joined=True)
    second = None if second_lead.bound else unit_at(words, second_lead.end, rules, filmed)
    if second is None and number and part:
        other = _partial(words, second_lead.end)
        if other and other[1] and other[0] and _closes(words, other[2]):
            second = with_part(century(other[1], other[2]), other[0], rules)
    if second is None or second.kind in {"year", "age"} or (join.word == "," and not (number and part)):
        return alone, None, False
    if number:
        if second.kind != "century" or not second.number:
            return alone, None, False
        first = century(number, end) if second.number > 0 else _before_christ(number, end)
    else:
        if not second.part:
            return None, None, False
        whole = unit_at(words, part_at_end(words, second_lead.end), rules, filmed)
        if whole is None or whole.end != second.end:
            return None, None, False
        first = replace(whole, end=end)
    first = with_part(first, part, rules)
    if not _in_order(first, second):
        return alone, None, False
    return first, second, join.either


def part_at_end(words: list[Token], at: int) -> int:
    """The index after the part at ``at``."""
    part = part_at(words, at)
    return part.end if part else at


def _before_christ(number: int, end: int) -> Unit:
    lo = -100 * number + 1
    return Unit(lo, lo + 99, "century", end, number=-number)


def _partial(words: list[Token], at: int) -> tuple[str, int, int] | None:
    """A part, an ordinal, or both, that wait for their century: part, number, index after."""
    if at < len(words) and words[at].word == "the":
        at += 1
    part = part_at(words, at)
    here = part.end if part else at
    if here >= len(words):
        return None
    found = ordinal(words, here) or short_century(words, here)
    if found and 1 <= found[0] <= 21:
        return (part.name if part else ""), found[0], found[1]
    if part and words[at].word not in {"first", "second", "third", "last"}:
        return part.name, 0, part.end - (1 if words[part.end - 1].word == "-" else 0)
    return None


def _closes(words: list[Token], at: int) -> bool:
    return at >= len(words) or words[at].word in wordlist("closer")


def _bare_pair(words: list[Token], lead: Lead, rules: Convention, filmed: date | None) -> Unit | None:
    """Such as "12-9 BCE", "from 410 to 1066": a small number that its partner makes a year. One unit of both."""
    number = bare_number(words, lead.end)
    if number is None:
        return None
    join = _join(words, number[1], between=lead.between)
    if join is None or join.word in {"and", ",", "or"} or join.either:
        return None
    second = unit_at(words, join.end, rules, filmed)
    if second is None or second.kind != "year" or second.lo is None:
        return None
    era = words[second.end - 1].word
    before_christ = second.lo <= 0
    if era == "bp":
        ends = sorted((1950 - number[0], second.lo))
        return Unit(ends[0], ends[1], "range", second.end, note=second.note)
    if before_christ:
        first = 1 - number[0]
    else:
        known = era in {"ad", "ce"} or words[join.end].word == "ad"
        if not known and not ((lead.between or lead.word == "from") and 100 <= number[0] <= 999):
            return None
        first = number[0]
    if first > second.lo:
        return None
    return Unit(first, second.lo, "range", second.end)
