"""A clip's words as one stream of tokens that names and cues can be laid against."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from episode.models import Word
from episode.speech.sentences import Sentence

_LETTERS = str.maketrans(
    {
        "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th",
        "’": "'", "‘": "'", "ʼ": "'", "`": "'", "´": "'", "′": "'", "＇": "'",
    }
)  # fmt: skip
_PIECE = re.compile(r"[^\W_]+(?:'[^\W_]+)*'?")
_QUALIFIER = re.compile(r"\([^)]*\)")
_CONTRACTION = re.compile(r"'(?:ll|re|ve|d|m|t)$")
_STOP = re.compile(r"[.?!…,;:—–]|--|\s-\s")


@dataclass(frozen=True, slots=True)
class Token:
    """One piece of a word: ``pipe-bowl`` is two.

    ``form`` is what names are compared with, ``plain`` what cues are compared with (no apostrophes at all,
    since captions often lack them). ``after`` is the punctuation that follows, reduced to ``,`` ``.`` ``?``
    or nothing. ``gap`` is the pause before the next word of the clip, in seconds.
    """

    form: str
    plain: str
    sentence: int
    word: Word
    after: str = ""
    gap: float = 0.0


def fold(text: str) -> str:
    """Case folded, accents stripped, apostrophes made one kind."""
    if text.isascii():
        return text.lower().replace("`", "'")
    apart = unicodedata.normalize("NFKD", text.translate(_LETTERS).casefold()).translate(_LETTERS)
    return "".join(c for c in apart if not unicodedata.combining(c))


def name_tokens(name: str) -> tuple[str, ...]:
    """The forms of a name's words, as ``Token.form`` gives them for spoken ones; a qualifier in brackets is dropped."""
    return tuple(_form(piece) for piece in _PIECE.findall(fold(_QUALIFIER.sub(" ", name))))


def stream(sentences: list[Sentence]) -> list[Token]:
    """The tokens of one clip's sentences, in order."""
    words = [(number, word) for number, sentence in enumerate(sentences) for word in sentence.words]
    tokens: list[Token] = []
    for index, (number, word) in enumerate(words):
        following = words[index + 1][1] if index + 1 < len(words) else None
        gap = max(0.0, following.start - word.end) if following else 0.0
        folded = fold(word.word)
        pieces = list(_PIECE.finditer(folded))
        for place, found in enumerate(pieces):
            last = place + 1 == len(pieces)
            tail = folded[found.end() : None if last else pieces[place + 1].start()]
            piece = found.group()
            tokens.append(
                Token(
                    form=_form(piece),
                    plain=piece.replace("'", ""),
                    sentence=number,
                    word=word,
                    after=_stop(tail if last else tail.replace("–", "")),
                    gap=gap if last else 0.0,
                )
            )
    return tokens


def _form(piece: str) -> str:
    piece = piece.rstrip("'")
    # "she'll" must not become "shell": a contraction keeps its apostrophe and so never equals a name.
    return piece if _CONTRACTION.search(piece) else piece.replace("'", "")


def _stop(tail: str) -> str:
    found = _STOP.findall(tail)
    if not found:
        return ""
    if "?" in found:
        return "?"
    return "." if any(mark in ".!…" for mark in found) else ","
