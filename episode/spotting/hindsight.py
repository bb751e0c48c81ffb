"""What a later or an earlier sentence says about a stance: guesses taken back, likenesses, what goes on from before."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from itertools import pairwise

from episode.models import Stance
from episode.spotting.passage import FINDS
from episode.spotting.spoken import Spoken

NEAR_S = 4.0
"""Two sentences further apart than this do not answer each other."""
NAMED_WITHIN = 3
"""A likeness is one, and no guess, where the thing is given another name within so many sentences."""

_TAKEN_BACK = re.compile(
    r"\A (?:oh |ah |wait |actually |hmm |er |um |well |hang on )*(?:no|nope|wait|scrub|scratch|hang on|hold on|sorry)\b"
    r"(?! (?:doubt|idea|wonder|problem|way|stem|bowl|mark|sign))(?!(?: \|)? (?:its|it|thats|that) (?:not|isnt|is not) (?:as|that|so|very|quite|too|bad|for)\b)"
    r"(?!(?: \|)? (?:it|that) isnt (?:as|that|so|very|quite|too|bad|for)\b)"
)
_NOT_IT = re.compile(r"\b(?:its|thats|it is|that is|not|isnt|actually)\b|\A(?: \w+){1,2} [.?|]*\Z")
_DENIED = re.compile(
    r"\A (?:no |nope |actually |wait |oh |but |well |\| )*(?:"
    r"(?:its|thats|it is|that is|hes|shes|theyre|he is|she is|he has|she has|they have|they are|i have|it was)"
    r" (?:definitely |actually |really )?not"
    r"|(?:it|that|this|he|she|they|i|we) (?:isnt|aint|wasnt|hasnt|havent|didnt|doesnt|arent))"
    r"(?= \||\Z| [.?]| (?:its|thats|is it|has he|has she|was it)\b)"
)
_GOES_ON = re.compile(
    r"\A(?: \||(?: (?:or|and|even|maybe|perhaps|just|else|then|ideally|preferably|failing that|at least|better still)))+"
    r" (?:a|an|some|any|one|another|the|half a)\b"
)
_GIVES_NAME = re.compile(
    r"(?:\A(?: (?:oh|ah|and|no|actually|well|yes|but|a|an|right|\|))*"
    r"|\b(?:its|thats|it is|that is|this is|theyre|these are|turns out)(?: (?!like\b)\w+){0,5}?) <(\d+)o"
)
_OF_IT = re.compile(r"\b(?:it|he|she|they|know it|that)(?: (?:does|really|do|just|even|sort of))? looks? ")


def hindsight(talk: Sequence[Spoken], result: list[list[Stance]], likened: Collection[tuple[int, int]]) -> None:
    """Put right the stances of a clip in place. ``likened`` are guesses (sentence, mention) put as "looks like a"."""
    for number, index in likened:
        if result[number][index] is Stance.UNSURE and _named_otherwise(talk, number, index):
            result[number][index] = Stance.COMPARED
    for number, (before, sentence) in enumerate(pairwise(talk), start=1):
        if result[number - 1] and sentence.start - before.end <= NEAR_S:
            _take_back(before, sentence, result[number - 1])


def goes_on(sentence: Spoken, before: Stance | None) -> Stance | None:
    """The stance that "Or a key, a big rusty one" takes from the sentence before it, for its first mention."""
    if before is None or not sentence.spans:
        return None
    text = sentence.passage.text[: sentence.passage.marks[0][0]]
    opened = _GOES_ON.match(text + " ")
    if not opened or " |" in text[opened.end() :] or len(text[opened.end() :].split()) > 3:
        return None
    is_or = re.match(
        r"\A(?: \|)?(?: (?:and|maybe|perhaps|failing))* ?(?:or|even|maybe|perhaps|failing|ideally|else)\b", text
    )
    if before is Stance.HOPED or (is_or and before in (Stance.UNSURE, Stance.COMPARED)):
        return before
    return None


def _named_otherwise(talk: Sequence[Spoken], number: int, index: int) -> bool:
    own = talk[number].spans[index].term
    for later in range(number, min(len(talk), number + NAMED_WITHIN + 1)):
        if later > number and talk[later].start - talk[later - 1].end > NEAR_S:
            break
        for found in _GIVES_NAME.finditer(talk[later].passage.text):
            named = int(found.group(1))
            term = talk[later].spans[named].term
            if (later, named) != (number, index) and term.term != own.term and term.kind in FINDS:
                return True
    if not _OF_IT.search(talk[number].passage.text):
        return False
    for earlier in range(number - 1, max(-1, number - NAMED_WITHIN), -1):
        if talk[earlier + 1].start - talk[earlier].end > NEAR_S:
            break
        for found in _GIVES_NAME.finditer(talk[earlier].passage.text):
            if talk[earlier].spans[int(found.group(1))].term.term != own.term:
                return True
    return False


def _take_back(before: Spoken, sentence: Spoken, row: list[Stance]) -> None:
    """A sentence that begins by taking back turns the last thing named before it into a guess."""
    text = sentence.passage.text
    tail = before.passage.text[before.passage.marks[-1][1] :]
    if len(tail.split()) > 4 or row[-1] not in (Stance.FOUND, Stance.COMPARED):
        return
    if (_TAKEN_BACK.match(text) and _NOT_IT.search(text)) or _DENIED.match(text):
        row[-1] = Stance.UNSURE
