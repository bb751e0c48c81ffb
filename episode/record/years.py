"""Which numbers in running speech are years: the everyday ones are refused here."""

from __future__ import annotations

from episode.record.numbers import below_hundred, plural, spoken_year
from episode.record.tokens import Token
from episode.record.wordlists import wordlist

FIRST_YEAR, LAST_YEAR = 1000, 2100
_HOURS = frozenset({"at", "past", "till"})


def year_at(words: list[Token], at: int) -> tuple[int, int] | None:
    """A year from 1000 to 2100 at ``at`` that is no count, price, page, telephone or clock time.

    Gives its value and the index after it.
    """
    token = words[at]
    if token.is_number:
        return _written(words, at) or _halved(words, at) or _spoken(words, at)
    return _spoken(words, at) or _hundred(words, at)


def _written(words: list[Token], at: int) -> tuple[int, int] | None:
    token = words[at]
    if token.digits != 4 or token.value is None or not FIRST_YEAR <= token.value <= LAST_YEAR:
        return None
    if _patent_year(words, at):
        return token.value, at + 1
    if not clear_before(words, at) or not clear_after(words, at + 1, token.value, _cue(words, at)):
        return None
    return token.value, at + 1


def _patent_year(words: list[Token], at: int) -> bool:
    """The year of a patent cited year first, "patent no. 1872/2212": numbers began again each year to 1915."""
    if at + 2 >= len(words) or words[at + 1].word != "/" or not words[at + 1].close or not words[at + 2].is_number:
        return False
    near = {w.word for w in words[max(0, at - 5) : at + 9]}
    return 1617 <= (words[at].value or 0) <= 1915 and bool(near & {"patent", "patents", "patented"})


def _halved(words: list[Token], at: int) -> tuple[int, int] | None:
    """Such as "in 17 84", as recognisers write a spoken year; only with a date word before it."""
    if at + 1 >= len(words) or at == 0 or words[at - 1].word not in wordlist("date"):
        return None
    first, second = words[at], words[at + 1]
    if first.digits != 2 or second.digits != 2 or second.close or first.value is None or second.value is None:
        return None
    value = first.value * 100 + second.value
    if not 1300 <= value <= 2030 or not clear_before(words, at) or not clear_after(words, at + 2, value, True):
        return None
    return value, at + 2


def _spoken(words: list[Token], at: int) -> tuple[int, int] | None:
    found = spoken_year(words, at)
    if found is None:
        return None
    value, end = found
    previous = words[at - 1].word if at else ""
    if not 1000 <= value <= 2030 or previous in _HOURS:
        return None
    if value < 1300 and previous not in {"in", "year", "ad", "since", "from"}:
        return None
    first, second = divmod(value, 100)
    if second == first + 1 and not _cue(words, at):
        return None
    if not clear_before(words, at) or not clear_after(words, end, value, _cue(words, at)):
        return None
    if words[at].is_number and words[at].close:
        return None
    return value, end


def _hundred(words: list[Token], at: int) -> tuple[int, int] | None:
    """Such as "in sixteen hundred": only with a date word before it, since it is a count as often."""
    first = below_hundred(words, at)
    if first is None or not 10 <= first[0] <= 19 or first[1] >= len(words) or words[first[1]].word != "hundred":
        return None
    if not at or not _cue(words, at) or not clear_after(words, first[1] + 1, first[0] * 100, False):
        return None
    return first[0] * 100, first[1] + 1


def _cue(words: list[Token], at: int) -> bool:
    return at > 0 and words[at - 1].word in wordlist("date")


def clear_before(words: list[Token], at: int) -> bool:
    """No currency, page, number or further digits stand right before."""
    if not at:
        return True
    token, before = words[at], words[at - 1]
    if before.word in wordlist("numbered"):
        return False
    if before.word in {":", ".", ","} and before.close and token.close and at > 1 and words[at - 2].is_number:
        return before.word == "," and token.digits == 4 and words[at - 2].digits in {1, 2, 4}
    if before.word == "." and before.close and at > 1 and words[at - 2].word in wordlist("numbered"):
        return False
    if token.close and before.raw[0].isalpha() and before.word not in {"c", "ca", "cca", "pre", "post", "mid"}:
        return False
    return not (before.is_number and before.digits >= 3)


def clear_after(words: list[Token], at: int, value: int, cue: bool) -> bool:
    """No unit, further digits or counted things follow."""
    if at >= len(words):
        return True
    after = words[at]
    following = words[at + 1] if at + 1 < len(words) else None
    if after.close and after.raw[0].isalpha() and after.word not in {"ish", "ad", "bc", "bce", "ce"}:
        return False
    if after.word in wordlist("counted"):
        return False
    if (
        after.close
        and after.word in {":", ".", ","}
        and following is not None
        and following.close
        and following.is_number
        and not (after.word == "," and following.digits == 4)
    ):
        return False
    if after.is_number and after.digits >= 3:
        return False
    if after.word == "of" and following is not None and following.word in wordlist("of them"):
        return False
    if value % 50 == 0 and not cue:
        return not _counted_thing(after.word)
    return True


def _counted_thing(word: str) -> bool:
    return (
        len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "'s")) and word not in wordlist("not plural")
    )


def decade_at(words: list[Token], at: int) -> tuple[int, int] | None:
    """Such as "1780s", "1780's": the number before the s and the index after it; "1700s" too."""
    token = words[at]
    if (
        token.digits == 4
        and token.value is not None
        and token.value % 10 == 0
        and FIRST_YEAR <= token.value <= LAST_YEAR
    ):
        end = plural(words, at + 1)
        if end and clear_before(words, at):
            return token.value, end
    return None
