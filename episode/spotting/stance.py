"""What the speaker does with each thing named: found, hoped for, likened to, denied and so on.

Cues are data (``vocab/spotting/stance.csv``). A cue that holds a ``TERM`` governs that mention, and those
joined to it by the row's ``joins`` words; a cue without one governs its clause, its sentence, or the talk
from there onward. Of several cues the heavier wins, then the nearer. Without a cue, an object, ware or
feature is ``found``. A material, maker, period or place follows the object in talk in the same sentence
(a sentence about "it" or "this" follows the object named before), and is ``aside`` where there is none.

Negation is read as reaching to the next noun phrase of its clause, which is the usual simple account
(common practice, no source); the figures of ``tests/bench/spotting.py`` say how far it carries.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from episode.models import Stance
from episode.spotting.hindsight import goes_on, hindsight
from episode.spotting.passage import FINDS
from episode.spotting.patterns import ByWord, compiled, rows
from episode.spotting.spoken import Spoken

RECAP_NOT_BEFORE = 0.3
"""A round-up cannot begin in the first part of a day; a cue there is about last time."""
WEAK_RECAP_NOT_BEFORE = 0.7
STRONG_RECAP = 56
SURE_RECAP = 62
"""A cue of less weight ("back at the van") begins a round-up only late in the day."""
NEW_TALK_S = 3.5
"""What was said of an object holds for the next sentence only if it follows sooner than this."""
LIKENED = "likened"
"""A cue that is a guess until the thing is given another name: "looks like a"."""
ENDS_PASSAGE = 37
"""A `found` cue of this weight or more ends what an earlier sentence carried over."""

_DET = r"(?:a|an|the|any|some|its|his|her|their|my|our|that|this|even|old|little|nice|single|proper|whole|complete)"
_PART_OF = r" (?:of|to|from|for|off) (?:a|an|some|one)(?: (?:old|little|small|big|large|wooden|metal))?"
"""What is said of a part is said of the whole that a cue has not seen: "perhaps the lid of a snuff box"."""
_ONE = re.compile(
    r" (?:one|ones|some|it|them|him|her|another|lots|loads|a few|two|three|plenty|nothing|hundreds)(?= |\Z)"
)
_LAST_TIME = re.compile(r" (?:last|previous) (?:time|week|month|year|episode|video|trip|visit)\b")
_SUBJECT_IT = re.compile(
    r"\A (?:\| )?(?:and |so |but |now |oh |well |i think |maybe |probably )*(?:its|it|this|thats|that|these|theyre|they|those|might|could|probably|possibly|definitely)\b"
)


@dataclass(frozen=True, slots=True)
class Cue:
    """One row of the table."""

    stance: str
    pattern: str
    scope: str
    weight: int
    joins: str
    carry: int
    row: int


def stances(talk: Sequence[Spoken]) -> list[list[Stance]]:
    """The stance of every mention of one clip's sentences, in their order."""
    result: list[list[Stance]] = []
    recap = False
    aside = False
    carried: tuple[str, int] | None = None
    spoken_of: Stance | None = None
    likened: list[tuple[int, int]] = []
    for number, sentence in enumerate(talk):
        ruling = _rule(sentence)
        if number and sentence.start - talk[number - 1].end >= NEW_TALK_S:
            carried = spoken_of = None
        if ruling.ends or (carried and ruling.strongest_found >= ENDS_PASSAGE):
            carried, aside = None, False
        if aside and ruling.strongest_found >= ENDS_PASSAGE:
            aside = False
        if ruling.ends_recap:
            recap = False
        passage_stance: str | None = None
        begins = len(sentence.passage.text)
        if ruling.onward is not None:
            stance, begins = ruling.onward
            if stance == Stance.RECAP and sentence.share >= ruling.recap_from and not ruling.ends_recap:
                recap = True
            elif stance == Stance.ASIDE:
                aside = True
        row: list[Stance | None] = []
        going_on = goes_on(sentence, spoken_of)
        for index, span in enumerate(sentence.spans):
            local = ruling.local.get(index)
            begun = sentence.passage.marks[index][0] >= begins or ruling.onward is None
            passage_stance = "aside" if aside else "recap" if recap else carried[0] if carried else None
            if local is not None and local.stance == LIKENED:
                row.append(Stance.UNSURE)
                likened.append((number, index))
            elif index == 0 and going_on is not None and (local is None or local.weight < STRONG_RECAP):
                row.append(going_on)
            elif local is not None and not (
                local.stance == Stance.FOUND and passage_stance and _holds(passage_stance, local)
            ):
                row.append(Stance(local.stance))
            elif passage_stance is not None and (begun or passage_stance == "aside"):
                row.append(Stance(passage_stance))
            elif span.term.kind in FINDS:
                row.append(Stance.FOUND)
            else:
                row.append(None)
        filled = _fill(sentence, row, spoken_of)
        result.append(filled)
        spoken_of = _last_object(sentence, filled) or spoken_of
        carried = _carry(ruling, carried)
    hindsight(talk, result, likened)
    return result


def _last_object(sentence: Spoken, filled: Sequence[Stance]) -> Stance | None:
    """The stance of the object named last, each counted where it is named first."""
    objects: dict[str, Stance] = {}
    for span, stance in zip(sentence.spans, filled, strict=True):
        if span.term.kind in FINDS:
            objects.setdefault(span.term.term, stance)
    return list(objects.values())[-1] if objects else None


@dataclass(slots=True)
class _Ruling:
    local: dict[int, Cue]
    onward: tuple[str, int] | None
    carries: tuple[str, int] | None
    ends: bool
    ends_recap: bool
    strongest_found: int
    recap_from: float = RECAP_NOT_BEFORE


def _rule(sentence: Spoken) -> _Ruling:
    text = sentence.passage.text
    marks = sentence.passage.marks
    cues = _cues().among(set(text.split()))
    shadow = [m.span() for cue in cues if cue.stance == "block" for m in compiled(cue.pattern).finditer(text)]
    claims: dict[int, list[tuple[int, int, int, Cue]]] = {}
    ruling = _Ruling({}, None, None, ends=False, ends_recap=False, strongest_found=0)
    for cue in cues:
        if cue.stance == "block" or (not marks and cue.scope in ("term", "sentence") and not cue.carry):
            continue
        for match in compiled(cue.pattern).finditer(text):
            begin, end = match.span()
            if any(a <= begin < b or (begin <= a and b <= _lead_end(match, end)) for a, b in shadow):
                continue
            if cue.stance == "ends":
                ruling.ends = True
                ruling.ends_recap |= cue.scope == "recap"
                continue
            governed = _governed(cue, match, text, marks)
            for index in governed:
                distance = abs(marks[index][0] - begin)
                claims.setdefault(index, []).append((-cue.weight, distance, cue.row, cue))
            if cue.stance == Stance.FOUND and governed:
                ruling.strongest_found = max(ruling.strongest_found, cue.weight)
            if cue.scope == "onward" and (ruling.onward is None or begin < ruling.onward[1]):
                ruling.onward = (cue.stance, begin)
                ruling.recap_from = (
                    WEAK_RECAP_NOT_BEFORE
                    if cue.weight < STRONG_RECAP
                    else RECAP_NOT_BEFORE
                    if cue.weight < SURE_RECAP or _LAST_TIME.search(text)
                    else 0.0
                )
            if cue.carry > 0:
                ruling.carries = max(ruling.carries or ("", 0), (cue.stance, cue.carry), key=lambda c: c[1])
    for index, listed in claims.items():
        ruling.local[index] = min(listed, key=lambda claim: claim[:3])[3]
    return ruling


def _lead_end(match: re.Match[str], end: int) -> int:
    return match.start("m0") if "m0" in match.re.groupindex and match.start("m0") >= 0 else end


def _governed(cue: Cue, match: re.Match[str], text: str, marks: tuple[tuple[int, int], ...]) -> list[int]:
    if match.re.groupindex:
        found = [int(match.group(name)) for name in match.re.groupindex if match.group(name) is not None]
        last = max(found, default=-1)
        while 0 <= last < len(marks) - 1 and marks[last][1] == marks[last + 1][0]:
            # "no pewter thimble": the noun phrase ends with its head.
            last += 1
            found.append(last)
        while 0 <= last < len(marks) - 1 and re.fullmatch(_PART_OF, text[marks[last][1] : marks[last + 1][0]]):
            last += 1
            found.append(last)
        while cue.joins and last >= 0 and last + 1 < len(marks):
            between = text[marks[last][1] : marks[last + 1][0]]
            if not re.fullmatch(rf"(?: \|)?(?: (?:{cue.joins.replace('/', '|')}))?(?: {_DET}){{0,2}}", between):
                break
            if not re.search(rf" (?:{cue.joins.replace('/', '|')})\b", text[marks[last][1] : marks[-1][0]]):
                break
            last += 1
            found.append(last)
        return found
    if cue.scope == "sentence":
        return list(range(len(marks)))
    if cue.scope in ("clause", "after", "before"):
        begin, end = match.span()
        left = max((text.rfind(mark, 0, begin + 1) for mark in (" |", " .", " ?")), default=-1)
        right = min((p for p in (text.find(mark, end) for mark in (" |", " .", " ?")) if p >= 0), default=len(text))
        if cue.scope == "after":
            left = begin
        if cue.scope == "before":
            right = begin
        inside = [index for index, (start, _) in enumerate(marks) if left <= start < right]
        # "This one's from last month, a seal matrix": a clause that names nothing speaks of what follows,
        # and where nothing follows, of what went before, unless it has "one" to speak of.
        after = [index for index, (start, _) in enumerate(marks) if start >= right]
        if inside or after or cue.scope != "clause" or _ONE.search(text, max(left, 0), right):
            return inside or after
        return [len(marks) - 1] if marks else []
    return []


def _holds(passage_stance: str, local: Cue) -> bool:
    """Whether the passage keeps its stance against a `found` cue of this weight."""
    return passage_stance == Stance.RECAP or local.weight < ENDS_PASSAGE


def _fill(sentence: Spoken, row: list[Stance | None], spoken_of: Stance | None) -> list[Stance]:
    marks = sentence.passage.marks
    objects = [index for index, span in enumerate(sentence.spans) if span.term.kind in FINDS]
    filled: list[Stance] = []
    for index, stance in enumerate(row):
        if stance is not None and not (stance == Stance.FOUND and sentence.spans[index].term.kind not in FINDS):
            filled.append(stance)
        elif objects:
            nearest = min(objects, key=lambda other: (abs(marks[other][0] - marks[index][0]), other))
            filled.append(row[nearest] or Stance.FOUND)
        elif stance is not None:
            filled.append(stance)
        elif spoken_of is not None and _SUBJECT_IT.match(sentence.passage.text):
            filled.append(spoken_of)
        else:
            filled.append(Stance.ASIDE)
    return filled


def _carry(ruling: _Ruling, carried: tuple[str, int] | None) -> tuple[str, int] | None:
    if ruling.carries and ruling.strongest_found < ENDS_PASSAGE:
        return ruling.carries
    if carried and carried[1] > 1:
        return carried[0], carried[1] - 1
    return None


@cache
def _cues() -> ByWord[Cue]:
    return ByWord(
        (
            row["pattern"],
            Cue(
                stance=row["stance"],
                pattern=row["pattern"],
                scope=row["scope"],
                weight=int(row["weight"] or 0),
                joins=row["joins"],
                carry=int(row["carry"] or 0),
                row=int(row["row"]),
            ),
        )
        for row in rows("stance.csv")
        if row["stance"] != "break"
    )
