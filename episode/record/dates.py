"""Date phrases in running speech, as intervals of years and as EDTF."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import lru_cache

from episode.models import DateSpan
from episode.record import ages, edtf_out, leads, parts
from episode.record.anchors import REACH, anchors
from episode.record.calendar import MONTH_WORDS
from episode.record.conventions import DEFAULT, Convention, convention_named
from episode.record.grammar import Phrase, phrase_at
from episode.record.names import first_words
from episode.record.numbers import NUMBER_WORDS, ORDINAL_WORDS
from episode.record.tokens import Token, tokens
from episode.record.units import Unit

MOST_TRIES = 20_000
"""Keeps a megabyte of anything within seconds; ten hours of talk hold a few thousand such words."""

_LONGEST_SENTENCE = 1000
"""Characters; dates of texts no longer than this are remembered, since a sentence is asked about again and again."""

_BASES = NUMBER_WORDS | ORDINAL_WORDS | {"couple", "century", "millennium"}


def read_dates(text: str, *, filmed: date | None = None, convention: str = DEFAULT) -> tuple[DateSpan, ...]:
    """Every date phrase in ``text``, in order, none overlapping.

    Works on punctuated text and on lower-case captions. Everyday numbers are passed over, and so is what
    cannot be fixed without context ("the eighties", "the turn of the century"). Ages ("three hundred years
    old") need the day of filming. Years are proleptic astronomical integers, inclusive at both ends.
    Takes time linear in the length of the text, and never raises for any text. Where more words than
    ``MOST_TRIES`` could begin a date (tens of thousands of dates in one text), the rest is not read.

    Args:
        text: words as transcribed or written.
        filmed: the day that "ago" and "old" count from; without it ages are not read.
        convention: which published rules fix the ends of "early", "circa" and the like.

    Raises:
        UnusableInput: there is no such convention.
    """
    if len(text) > _LONGEST_SENTENCE:
        return _dates(text, filmed, convention)
    return _of_sentence(text, filmed, convention)


def _dates(text: str, filmed: date | None, convention: str) -> tuple[DateSpan, ...]:
    rules = convention_named(convention)
    words = tokens(text)
    starts = _all_starts()
    names = first_words()
    if not any(w.digits or w.word in _BASES or w.word in names for w in words):
        return ()
    found: list[DateSpan] = []
    at, tries = 0, 0
    for anchor in anchors(words):
        at = max(at, anchor - REACH)
        while at <= anchor and tries < MOST_TRIES:
            word = words[at]
            if not word.is_number and word.word not in starts:
                at += 1
                continue
            tries += 1
            phrase = phrase_at(words, at, rules, filmed)
            if phrase is None:
                at += 1
                continue
            found.append(_span(text, words, phrase, rules))
            at = max(phrase.end, at + 1)
    return tuple(found)


@lru_cache(maxsize=20_000)
def _of_sentence(text: str, filmed: date | None, convention: str) -> tuple[DateSpan, ...]:
    return _dates(text, filmed, convention)


@lru_cache(maxsize=1)
def _all_starts() -> frozenset[str]:
    return (
        first_words()
        | _BASES
        | leads.first_words()
        | parts.FIRST_WORDS
        | ages.FIRST_WORDS
        | MONTH_WORDS
        | {"a", "c", "ad"}
    )


def _span(text: str, words: list[Token], phrase: Phrase, rules: Convention) -> DateSpan:
    begin = phrase.start
    while words[begin].word == "the" and begin + 1 < phrase.end:
        begin += 1
    at, until = words[begin].at, words[phrase.end - 1].until
    first, second = phrase.first, phrase.second
    kind = first.kind if second is None else "range"
    lo, hi = first.lo, (second or first).hi
    first_mark = edtf_out.mark(approximate=phrase.approximate, uncertain=phrase.uncertain)
    last_mark = first_mark
    if second is not None:
        last_mark = edtf_out.mark(approximate=phrase.second_approximate, uncertain=phrase.uncertain)
    notes = [note for note in (first.note, second.note if second else "") if note]
    if phrase.either:
        notes.append("one or the other")
    if kind == "age" and first.part:
        bound = {"more": "until", "less": ""}[first.part]
        return _make(
            text, at, until, *_opened(lo, hi, bound), kind, first_mark, first_mark, phrase, first, notes, rules
        )
    if phrase.bound and second is None:
        lo, hi = _bounded(first, phrase.bound, rules)
        kind = "before" if phrase.bound in {"before", "until"} else "after"
        if rules.rules.get(f"bound {kind}"):
            first = replace(first, convention="; ".join(n for n in (first.convention, rules.name) if n))
    return _make(text, at, until, lo, hi, kind, first_mark, last_mark, phrase, first, notes, rules)


def _opened(lo: int | None, hi: int | None, bound: str) -> tuple[int | None, int | None]:
    return (None, hi) if bound else (lo, hi)


def _bounded(unit: Unit, bound: str, rules: Convention) -> tuple[int | None, int | None]:
    """A single year is itself inside "before" and "after" (Object ID); of a longer unit the nearer end counts.

    A convention may close the other end, or let the words add nothing to the year named.
    """
    side = "before" if bound in {"before", "until"} else "after"
    first, last = rules.bound[side]
    if (first, last) == (0, 0):
        return unit.lo, unit.hi
    past = unit.lo != unit.hi and bound in {"before", "after"}
    if side == "before":
        near = unit.lo if bound == "before" else unit.hi
        if near is None:
            return None, None
        last = min(last or 0, -1) if past else last
        return None if first is None else near + first, near + (last or 0)
    near = unit.hi if bound == "after" else unit.lo
    if near is None:
        return None, None
    first = max(first or 0, 1) if past else first
    return near + (first or 0), None if last is None else near + last


def _make(
    text: str,
    at: int,
    until: int,
    lo: int | None,
    hi: int | None,
    kind: str,
    first_mark: str,
    last_mark: str,
    phrase: Phrase,
    first: Unit,
    notes: list[str],
    rules: Convention,
) -> DateSpan:
    edtf = edtf_out.interval(lo, hi, first_mark, last_mark)
    if phrase.second is None and first.atom and not phrase.bound:
        edtf = first.atom + first_mark
    if first.kind == "age" and not first.part and lo is not None and hi is not None:
        edtf = edtf_out.year((lo + hi) // 2, first_mark)
    give = phrase.give if phrase.give is not None else rules.circa
    used = [first.convention, phrase.second.convention if phrase.second else ""]
    if phrase.approximate and lo is not None and (first.kind == "year"):
        lo -= give
        used.append(f"circa {give} years" + _named(rules))
    if hi is not None and (
        (phrase.second is None and phrase.approximate and first.kind == "year")
        or (phrase.second is not None and phrase.second_approximate and phrase.second.kind == "year")
    ):
        hi += give
        used.append(f"circa {give} years" + _named(rules))
    elif phrase.give is not None and not phrase.approximate and lo is not None and hi is not None:
        lo, hi = lo - phrase.give, hi + phrase.give
        edtf = edtf_out.interval(lo, hi, first_mark, last_mark)
    return DateSpan(
        text=text[at:until],
        at=at,
        until=until,
        from_=lo,
        to=hi,
        edtf=edtf,
        kind=kind,
        approximate=phrase.approximate or phrase.second_approximate,
        uncertain=phrase.uncertain,
        convention="; ".join(dict.fromkeys(name for name in used if name)),
        note="; ".join(dict.fromkeys(notes)),
    )


def _named(rules: Convention) -> str:
    source = rules.rules.get("year circa", "")
    return f" ({source})" if source else ""
