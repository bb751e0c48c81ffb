"""One point or stretch of time, as said: a year, decade, century, period, reign or age, with its part."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from episode.record import edtf_out
from episode.record.ages import age_at, years_at
from episode.record.calendar import calendar_date
from episode.record.conventions import Convention
from episode.record.names import named_at
from episode.record.numbers import TEENS, ordinal, spoken_decade
from episode.record.parts import part_at
from episode.record.tokens import Token
from episode.record.years import clear_before, decade_at, year_at

_CENTURY = frozenset({"century", "centuries", "cent", "centry"})


@dataclass(frozen=True, slots=True)
class Unit:
    """Years ``lo`` to ``hi`` inclusive (``None``: open), and how EDTF writes them in one piece, if it can."""

    lo: int | None
    hi: int | None
    kind: str
    end: int
    atom: str = ""
    approximate: bool = False
    convention: str = ""
    note: str = ""
    part: str = ""
    number: int = 0
    """Ordinal of a century; 0 otherwise."""


def unit_at(words: list[Token], at: int, rules: Convention, filmed: date | None) -> Unit | None:
    """The unit at ``at`` with its part ("late 17th century"), or ``None``."""
    if at >= len(words):
        return None
    whole = _whole(words, at, filmed)
    if whole:
        return whole
    part = part_at(words, at)
    if part is None:
        return None
    base = _whole(words, part.end, filmed) if part.end < len(words) else None
    if base is None or base.kind in {"year", "age"}:
        return None
    return with_part(base, part.name, rules)


def with_part(unit: Unit, part: str, rules: Convention) -> Unit:
    """The named part of a century, decade, period or reign, by the convention."""
    if unit.lo is None or unit.hi is None or not part:
        return unit
    if part == "turn":
        return _turn(unit)
    if unit.kind == "century":
        first, last = rules.century[part]
        hundreds = unit.lo % 100 == 0
        lo = unit.lo if first == 1 else unit.lo + first - (0 if hundreds else 1)
        hi = unit.hi if last == 100 else unit.lo + last - (0 if hundreds else 1)
        name, note = _named(rules, "century", part), unit.note
    elif unit.kind == "decade" and part in rules.decade:
        first, last = rules.decade[part]
        lo, hi = unit.lo + first, unit.lo + last
        name, note = _named(rules, "decade", part), unit.note
    else:
        length = unit.hi - unit.lo + 1
        begins, ends = _SHARES.get(part, (0.0, 1.0))
        lo, hi = unit.lo + round(length * begins), unit.lo + max(round(length * ends), 1) - 1
        hi = max(hi, lo)
        name, note = "equal parts", "no published rule for parts of this period: equal parts of its years"
    return replace(unit, lo=lo, hi=hi, atom="", part=part, convention=name, note=note)


_SHARES = {
    "early": (0.0, 1 / 3),
    "mid": (1 / 3, 2 / 3),
    "late": (2 / 3, 1.0),
    "first half": (0.0, 0.5),
    "second half": (0.5, 1.0),
    "first quarter": (0.0, 0.25),
    "second quarter": (0.25, 0.5),
    "third quarter": (0.5, 0.75),
    "last quarter": (0.75, 1.0),
}


def _named(rules: Convention, unit: str, part: str) -> str:
    source = rules.rules.get(f"{unit} {part}", "")
    return rules.name if source else f"{rules.name}, common rule"


def _turn(unit: Unit) -> Unit:
    lo = (unit.lo or 0) - 6 if (unit.lo or 0) % 100 else (unit.lo or 0) - 5
    note = "no published rule for the turn of a century: five years either side of its start"
    return replace(
        unit, lo=lo, hi=lo + 10, atom="", part="turn", convention="common practice", note=note, approximate=True
    )


def _whole(words: list[Token], at: int, filmed: date | None) -> Unit | None:
    if at < len(words) and words[at].word == "the":
        at += 1
    if at >= len(words):
        return None
    return (
        _era_first(words, at)
        or _numbered(words, at)
        or age_unit(words, at, filmed)
        or _offset(words, at)
        or _century(words, at)
        or _period(words, at)
    )


def _numbered(words: list[Token], at: int) -> Unit | None:
    era = _era_last(words, at)
    if era:
        return era
    day = calendar_date(words, at)
    if day:
        return Unit(day.year, day.year, "year", day.end, atom=day.edtf)
    decade = decade_at(words, at) or spoken_decade(words, at)
    if decade:
        value, end = decade
        if value % 100 == 0:
            return _hundreds(value, end)
        return Unit(value, value + 9, "decade", end, atom=f"{value // 10}X")
    hundreds = _said_hundreds(words, at)
    if hundreds:
        return hundreds
    found = year_at(words, at)
    if found:
        value, end = found
        return Unit(value, value, "year", end, atom=edtf_out.year(value))
    return None


def _said_hundreds(words: list[Token], at: int) -> Unit | None:
    """Such as "sixteen hundreds", "17 hundreds"."""
    first = TEENS.get(words[at].word) or (words[at].value if words[at].digits == 2 else None)
    if first is None or not 10 <= first <= 20 or at + 1 >= len(words):
        return None
    hop = at + 2 if words[at + 1].word == "-" else at + 1
    if hop < len(words) and words[hop].word == "hundreds":
        return _hundreds(first * 100, hop + 1)
    return None


def _hundreds(value: int, end: int) -> Unit:
    if value >= 2000:
        return Unit(value, value + 9, "decade", end, atom=f"{value // 10}X", note="read as the decade")
    note = f"read as the century {value} to {value + 99}; some mean the decade"
    return Unit(value, value + 99, "century", end, atom=f"{value // 100:02d}XX", note=note)


def _century(words: list[Token], at: int) -> Unit | None:
    found = short_century(words, at)
    if found:
        return century(found[0], found[1])
    said = ordinal(words, at)
    if said is None or not 1 <= said[0] <= 21:
        return None
    number, end = said
    if end < len(words) and words[end].word == "-":
        end += 1
    if end >= len(words):
        return None
    if words[end].word in _CENTURY:
        end += 1
        if words[end - 1].word == "cent" and end < len(words) and words[end].word == "." and words[end].close:
            end += 1
    elif words[end].word == "c" and not words[at].raw[0].isalpha():
        end += 1
    else:
        return None
    era = era_word(words, end)
    if era and era[0] in {"bc", "bce"}:
        lo = -100 * number + 1
        return Unit(lo, lo + 99, "century", era[1], number=-number)
    return century(number, era[1] if era else end)


def century(number: int, end: int) -> Unit:
    """A century AD by its ordinal: the 18th is 1701 to 1800."""
    return Unit(number * 100 - 99, number * 100, "century", end, number=number)


def short_century(words: list[Token], at: int) -> tuple[int, int] | None:
    """Such as "C18", "C18th", "c17th": ordinal and index after it."""
    token = words[at]
    if token.word != "c" or at + 1 >= len(words):
        return None
    number = words[at + 1]
    if not number.close or number.digits != 2 or not 10 <= (number.value or 0) <= 21:
        return None
    end = at + 2
    if end < len(words) and words[end].close and words[end].word in {"th", "st", "nd", "rd"}:
        end += 1
        if end < len(words) and words[end].word in _CENTURY:
            end += 1
    elif token.raw != "C":
        return None
    return number.value or 0, end


def era_word(words: list[Token], at: int) -> tuple[str, int] | None:
    """AD, BC, CE, BCE or BP at ``at``, dotted or not."""
    if at >= len(words):
        return None
    word = words[at].word
    if word in {"ad", "bc", "bce", "ce", "bp"}:
        return word, at + 1
    letters, here = "", at
    while (
        here + 1 < len(words) and len(words[here].word) == 1 and words[here + 1].word == "." and words[here + 1].close
    ):
        letters += words[here].word
        here += 2
        if letters in {"ad", "bce", "bp"} or (letters in {"bc", "ce"} and not _more(words, here)):
            return letters, here
        if len(letters) > 3:
            break
    return None


def _more(words: list[Token], at: int) -> bool:
    return at + 1 < len(words) and words[at].word == "e" and words[at + 1].word == "."


_ARTICLES = frozenset(["an", "the", "this", "that", "next", "short", "one", "your", "our", "another"])


def _era_first(words: list[Token], at: int) -> Unit | None:
    era = era_word(words, at)
    if era is None or era[0] != "ad" or era[1] >= len(words):
        return None
    if words[at].raw == "ad" and at and words[at - 1].word in _ARTICLES - {"the"}:
        return None
    number = words[era[1]]
    if number.value is None or number.close or not 1 <= number.value <= LAST_AD:
        return None
    return Unit(number.value, number.value, "year", era[1] + 1, atom=edtf_out.year(number.value))


LAST_AD = 2100


def _era_last(words: list[Token], at: int) -> Unit | None:
    number = words[at]
    if number.value is None:
        return None
    end = at + 1
    value = number.value
    if (
        value < 1000
        and end + 1 < len(words)
        and words[end].word == ","
        and words[end].close
        and words[end + 1].digits == 3
    ):
        value, end = value * 1000 + (words[end + 1].value or 0), end + 2
    era = era_word(words, end)
    if era is None or value < 1 or value > 9999 or not clear_before(words, at):
        return None
    name, end = era
    if name in {"ad", "ce"}:
        if value > LAST_AD or (name == "ad" and end < len(words) and words[end].word in {"break", "breaks", "free"}):
            return None
        year = value
    elif name == "bp":
        year = 1950 - value
    else:
        year = 1 - value
    note = "years before 1950, not calibrated" if name == "bp" else ""
    return Unit(year, year, "year", end, atom=edtf_out.year(year), note=note)


def bare_number(words: list[Token], at: int) -> tuple[int, int] | None:
    """A number of up to four digits that only its partner in a range can make a year."""
    if at < len(words) and words[at].value is not None and words[at].digits <= 4 and clear_before(words, at):
        return words[at].value or 0, at + 1
    return None


def _period(words: list[Token], at: int) -> Unit | None:
    named = named_at(words, at)
    if named is None or named.fact.from_ is None:
        return None
    return Unit(named.fact.from_, named.fact.to, named.kind, named.end, convention=named.fact.source)


def _offset(words: list[Token], at: int) -> Unit | None:
    """Such as "a hundred years before Victoria", "two centuries after 1066": counted from the nearer end."""
    span = years_at(words, at)
    if span is None or span.end + 1 >= len(words) or words[span.end].word not in {"before", "after"}:
        return None
    before, here = words[span.end].word == "before", span.end + 1
    if words[here].word == "the" and here + 1 < len(words):
        here += 1
    base = _numbered(words, here) or _century(words, here) or _sure_name(words, here)
    if base is None or base.lo is None or base.hi is None:
        return None
    year = base.lo - span.years if before else base.hi + span.years
    said = " ".join(word.raw for word in words[here : base.end])
    note = f"{span.years} years {'before' if before else 'after'} {base.lo if before else base.hi} ({said})"
    return Unit(
        year - span.give, year + span.give, "range", base.end,
        approximate=span.give > 0, note=note, convention="half of the last place said",
    )  # fmt: skip


def _sure_name(words: list[Token], at: int) -> Unit | None:
    named = named_at(words, at, sure=True)
    return Unit(named.fact.from_, named.fact.to, named.kind, named.end) if named else None


def age_unit(words: list[Token], at: int, filmed: date | None) -> Unit | None:
    """Such as "three hundred years old", counted back from the day of filming."""
    if filmed is None:
        return None
    age = age_at(words, at)
    if age is None:
        return None
    year = filmed.year - age.years
    note = f"{age.years} years before filming ({filmed.year})"
    return Unit(
        year - age.give if age.bound != "less" else year,
        filmed.year if age.bound == "less" else year + age.give if age.bound != "more" else year,
        "age",
        age.end,
        approximate=age.bound == "",
        note=note,
        convention="half of the last place said",
        part=age.bound,
    )
