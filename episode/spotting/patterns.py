"""The small language in which cues are written in ``vocab/spotting``.

A pattern is words with spaces between. ``a/the`` is either; ``(very)`` may be missing; ``hop*`` is any word
that begins so; ``~`` is up to three words of the same clause and ``~6`` up to six; ``^`` is the beginning of
a clause and ``$`` its end; ``^^`` and ``$$`` the same of a sentence; ``?`` a question mark; ``!its/the`` says
what must not follow, ``-its/the`` what must not stand just before. ``TERM`` is a mention, ``TERMS`` one in the plural, ``OBJECT`` one of an object, ware or feature. A word in capitals stands
for a list that a ``let`` row of the same file gives. Apostrophes are left out (``its`` is also "it's").
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from functools import cache
from typing import Generic, TypeVar

from episode.errors import UnusableInput
from episode.lexicon.resources import vocab_root

Item = TypeVar("Item")
GAP_WORDS = 3
_BREAK = r"(?: [|.?])?"
_ANY = r"(?: [^\s|.?<>]+)"
_MAY_BE_NOTHING = ("(", "^", "$", "!", "-", "~")
"""How pieces of a pattern begin that can stand for no words at all."""


@cache
def rows(file: str) -> tuple[dict[str, str], ...]:
    """The rows of a table of ``vocab/spotting``, ``let`` rows first applied and then left out.

    Raises:
        UnusableInput: the file is not there or has a row without its pattern.
    """
    path = vocab_root() / "spotting" / file
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise UnusableInput(f"cannot be read ({error})", where=f"vocab/spotting/{file}") from error
    table = [{k: (v or "").strip() for k, v in row.items() if k} for row in csv.DictReader(text.splitlines())]
    lists: dict[str, str] = {}
    found: list[dict[str, str]] = []
    for number, row in enumerate(table, start=2):
        pattern = row.get("pattern", "")
        if not pattern:
            raise UnusableInput("row without a pattern", where=f"vocab/spotting/{file}, row {number}")
        if row.get("stance", row.get("sense")) == "let":
            name, _, words = pattern.partition(" = ")
            lists[name.strip()] = _expand(words.strip(), lists)
            continue
        if all(piece.startswith(_MAY_BE_NOTHING) for piece in pattern.split()):
            raise UnusableInput(
                f"pattern {pattern!r} fits anything",
                where=f"vocab/spotting/{file}, row {number}",
                remedy="Put a word outside brackets.",
            )
        row["pattern"] = _expand(pattern, lists)
        row["row"] = str(number)
        found.append(row)
    return tuple(found)


@cache
def compiled(pattern: str) -> re.Pattern[str]:
    """A pattern as a regular expression over ``Passage.text``. Groups ``m0``, ``m1`` ... are its mentions.

    Asked where a text is searched, so that only patterns whose words are said are ever compiled.
    """
    out: list[str] = []
    mentions = 0
    for place, piece in enumerate(pattern.split()):
        if piece.startswith("(") is not piece.endswith(")"):
            raise UnusableInput(
                f"brackets in {pattern!r} hold one word or choice", remedy="Join words with an underscore."
            )
        lead = "" if place == 0 else _BREAK
        optional = piece.startswith("(") and piece.endswith(")")
        body = piece[1:-1] if optional else piece
        gap = re.fullmatch(r"~(\d*)", body)
        if body in ("^", "^^"):
            out.append(r"(?:(?<=\A)|(?<= [|.?]))" if body == "^" else r"(?<=\A)")
        elif body in ("$", "$$"):
            out.append(r"(?= [|.?]|\Z)" if body == "$" else r"(?= [.?]|\Z)")
        elif len(body) > 1 and body.startswith("-"):
            out.extend(f"(?<! {re.escape(word)})" for word in body[1:].split("/"))
        elif body.startswith("!"):
            out.append(f"(?!{_BREAK} (?:{'|'.join(_word(word) for word in body[1:].split('/'))})(?= |\\Z))")
        elif body == "?":
            out.append(r" \?")
        elif gap:
            out.append(_ANY + "{0," + (gap.group(1) or str(GAP_WORDS)) + "}?")
        elif body in ("TERM", "TERMS", "OBJECT", "OBJECTS"):
            plural = "s" if body.endswith("S") else "s?"
            kind = "o" if body.startswith("OBJECT") else "[ox]"
            group = f"{lead} <(?P<m{mentions}>\\d+){kind}{plural}>"
            mentions += 1
            out.append(f"(?:{group})?" if optional else group)
        else:
            choice = "|".join(_word(word) for word in body.split("/"))
            group = f"{lead} (?:{choice})(?= |\\Z)"
            out.append(f"(?:{group})?" if optional else group)
    return re.compile("".join(out))


class ByWord(Generic[Item]):
    """Things with a pattern, ready to be asked which of them a text can fit at all, by the words it has."""

    def __init__(self, items: Iterable[tuple[str, Item]]) -> None:
        self._items: list[tuple[Item, list[frozenset[str]]]] = []
        self._always: list[int] = []
        self._by_word: dict[str, list[int]] = {}
        for number, (pattern, item) in enumerate(items):
            rarest, *others = _needed(pattern) or [frozenset()]
            self._items.append((item, others))
            if not rarest:
                self._always.append(number)
            for word in rarest:
                self._by_word.setdefault(word, []).append(number)

    def among(self, words: AbstractSet[str]) -> list[Item]:
        """The items whose pattern may fit a text of these words, in the order they were given."""
        numbers = set(self._always)
        for word in words:
            numbers.update(self._by_word.get(word, ()))
        found = (self._items[number] for number in sorted(numbers))
        return [item for item, others in found if not any(words.isdisjoint(other) for other in others)]


def _needed(pattern: str) -> list[frozenset[str]]:
    """Words of each of which sets a text must have one for the pattern to fit, the rarest set first."""
    from wordfreq import word_frequency

    found: list[tuple[float, int, frozenset[str]]] = []
    for piece in pattern.split():
        if piece[0] in "(^$-!?~" or "*" in piece or piece in ("TERM", "TERMS", "OBJECT", "OBJECTS"):
            continue
        rarest = {
            min(choice.split("_"), key=lambda w: (word_frequency(w, "en"), w)) for choice in piece.split("/") if choice
        }
        found.append((sum(word_frequency(word, "en") for word in rarest), len(found), frozenset(rarest)))
    return [words for _, _, words in sorted(found, key=lambda one: one[:2])]


def _word(word: str) -> str:
    return re.escape(word[:-1]) + r"[^\s|.?<>]*" if word.endswith("*") else re.escape(word).replace("_", r"(?: )")


def _expand(pattern: str, lists: dict[str, str]) -> str:
    def swap(found: re.Match[str]) -> str:
        return lists.get(found.group(), found.group())

    return re.sub(r"\b[A-Z]{2,}\b", swap, pattern)
