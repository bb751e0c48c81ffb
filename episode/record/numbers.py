"""Numbers as people say them: years in pairs, hundreds, thousands, ordinals.

The general spoken-number libraries turn "seventeen eighty four" into "17 84", which loses the year,
so years are joined here; plain counts follow the usual English pattern.
"""

from __future__ import annotations

from episode.record.tokens import Token

UNITS = {
    "one": 1,
    "two": 2,
    "three": 3,
    "four": 4,
    "five": 5,
    "six": 6,
    "seven": 7,
    "eight": 8,
    "nine": 9,
}
TEENS = {
    "ten": 10,
    "eleven": 11,
    "twelve": 12,
    "thirteen": 13,
    "fourteen": 14,
    "fifteen": 15,
    "sixteen": 16,
    "seventeen": 17,
    "eighteen": 18,
    "nineteen": 19,
}
TENS = {
    "twenty": 20,
    "thirty": 30,
    "forty": 40,
    "fourty": 40,
    "fifty": 50,
    "sixty": 60,
    "seventy": 70,
    "eighty": 80,
    "ninety": 90,
}
DECADES = {
    "tens": 10,
    "twenties": 20,
    "thirties": 30,
    "forties": 40,
    "fifties": 50,
    "sixties": 60,
    "seventies": 70,
    "eighties": 80,
    "nineties": 90,
}
_ORDINAL_UNITS = {
    "first": 1,
    "second": 2,
    "third": 3,
    "fourth": 4,
    "fifth": 5,
    "sixth": 6,
    "seventh": 7,
    "eighth": 8,
    "ninth": 9,
}
ORDINAL_TEENS = {
    "tenth": 10,
    "eleventh": 11,
    "twelfth": 12,
    "thirteenth": 13,
    "fourteenth": 14,
    "fifteenth": 15,
    "sixteenth": 16,
    "seventeenth": 17,
    "eighteenth": 18,
    "nineteenth": 19,
    "twentieth": 20,
    "thirtieth": 30,
}
_ENDINGS = frozenset({"st", "nd", "rd", "th"})
ZERO = frozenset({"oh", "o", "nought", "naught", "zero"})
_ROMAN = {"i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5, "vi": 6, "vii": 7, "viii": 8}

NUMBER_WORDS = frozenset({*UNITS, *TEENS, *TENS, "hundred", "thousand"})
ORDINAL_WORDS = frozenset({*_ORDINAL_UNITS, *ORDINAL_TEENS})


def below_hundred(words: list[Token], at: int) -> tuple[int, int] | None:
    """A spoken number from 1 to 99 at ``at``: its value and the index after it."""
    if at >= len(words):
        return None
    word = words[at].word
    if word in UNITS:
        return UNITS[word], at + 1
    if word in TEENS:
        return TEENS[word], at + 1
    if word not in TENS:
        return None
    value, after = TENS[word], at + 1
    hop = after + 1 if after < len(words) and words[after].word == "-" else after
    if hop < len(words) and words[hop].word in UNITS:
        return value + UNITS[words[hop].word], hop + 1
    return value, after


def cardinal(words: list[Token], at: int) -> tuple[int, int] | None:
    """A count at ``at``, in digits ("2,000" too), words or both ("3 hundred"), below a million."""
    if at >= len(words):
        return None
    if words[at].word in {"a", "one"} and at + 1 < len(words) and words[at + 1].word in {"hundred", "thousand"}:
        value, after = 1, at + 1
    elif words[at].is_number:
        number = words[at].value
        if number is None:
            return None
        value, after = number, at + 1
        if value < 1000 and _thousands(words, after):
            value, after = value * 1000 + (words[after + 1].value or 0), after + 2
    else:
        found = below_hundred(words, at)
        if found is None:
            return None
        value, after = found
    return _scaled(words, value, after)


def _thousands(words: list[Token], at: int) -> bool:
    return (
        at + 1 < len(words)
        and words[at].word == ","
        and words[at].close
        and words[at + 1].close
        and (words[at + 1].digits == 3)
    )


def _scaled(words: list[Token], value: int, after: int) -> tuple[int, int]:
    total = 0
    for scale, name in ((1000, "thousand"), (100, "hundred")):
        if after < len(words) and words[after].word == name and 0 < value < 1000:
            total += value * scale
            value, after = 0, after + 1
            hop = after + 1 if after < len(words) and words[after].word == "and" else after
            more = below_hundred(words, hop)
            if more:
                value, after = more
    return total + value, after


def spoken_year(words: list[Token], at: int) -> tuple[int, int] | None:
    """A year said in words, or half in words ("18 seventy two"): value and the index after it.

    "eighteen seventy-two", "nineteen oh four", "ten sixty-six", "twenty nineteen", "two thousand and six",
    "one thousand eight hundred and three". Hundreds without more ("sixteen hundred") are not read here.
    """
    word = words[at].word
    first = _hundreds(words[at])
    if first is None and word in {"one", "two", "a"} and at + 1 < len(words) and words[at + 1].word == "thousand":
        value, after = _scaled(words, 1 if word != "two" else 2, at + 1)
        return (value, after) if value % 1000 and 1000 < value < 2100 else None
    if first is None:
        return None
    after = at + 1
    if after < len(words) and words[after].word == "-":
        after += 1
    if after >= len(words):
        return None
    if words[after].word == "hundred":
        hop = after + 2 if after + 1 < len(words) and words[after + 1].word == "and" else 0
        rest = below_hundred(words, hop) if hop else None
        return (first * 100 + rest[0], rest[1]) if rest and first != 20 else None
    if words[after].word in ZERO and after + 1 < len(words):
        unit = words[after + 1]
        value_ = UNITS.get(unit.word) or (unit.value if unit.digits == 1 else None)
        return (first * 100 + value_, after + 2) if value_ else None
    rest = below_hundred(words, after)
    if rest is None or rest[0] < 10:
        return None
    return first * 100 + rest[0], rest[1]


def _hundreds(token: Token) -> int | None:
    """The first half of a year said in pairs: ten to twenty, in words or two digits."""
    if token.word == "twenty":
        return 20
    if token.digits == 2 and token.value is not None and 10 <= token.value <= 20:
        return token.value
    return TEENS.get(token.word)


def spoken_decade(words: list[Token], at: int) -> tuple[int, int] | None:
    """Such as "seventeen eighties", "18 seventies", "nineteen 20s": first year and the index after it."""
    first = _hundreds(words[at])
    if first is None:
        return None
    after = at + 1
    if after < len(words) and words[after].word == "-":
        after += 1
    if after >= len(words):
        return None
    if words[after].word in DECADES:
        return first * 100 + DECADES[words[after].word], after + 1
    number = words[after]
    if number.digits == 2 and number.value is not None and number.value % 10 == 0 and number.value >= 10:
        end = plural(words, after + 1)
        if end:
            return first * 100 + number.value, end
    return None


def plural(words: list[Token], at: int) -> int:
    """The index after an "s" or "'s" that closes up to the number before it, or 0."""
    if at < len(words) and words[at].close and words[at].word in {"s", "'s"}:
        return at + 1
    return 0


def ordinal(words: list[Token], at: int) -> tuple[int, int] | None:
    """Such as "17th", "seventeenth", "twenty-first": value and the index after it."""
    if at >= len(words):
        return None
    token = words[at]
    if token.is_number:
        if token.digits <= 2 and at + 1 < len(words) and words[at + 1].close and words[at + 1].word in _ENDINGS:
            return (token.value or 0), at + 2
        return None
    if token.word in _ORDINAL_UNITS:
        return _ORDINAL_UNITS[token.word], at + 1
    if token.word in ORDINAL_TEENS:
        return ORDINAL_TEENS[token.word], at + 1
    if token.word in {"twenty", "thirty"}:
        hop = at + 2 if at + 1 < len(words) and words[at + 1].word == "-" else at + 1
        if hop < len(words) and words[hop].word in _ORDINAL_UNITS:
            return TENS[token.word] + _ORDINAL_UNITS[words[hop].word], hop + 1
    return None


def roman(token: Token) -> int | None:
    """A regnal numeral: I to VIII."""
    return _ROMAN.get(token.word)
