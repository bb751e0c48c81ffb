"""Dates and periods said about things, makers and events."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from episode.claims.beginnings import begun
from episode.claims.cues import nearest, pattern, says
from episode.claims.scenes import Scene
from episode.claims.statements import Statement
from episode.claims.subjects import Subject, subject_of
from episode.lexicon.book import Lexicon
from episode.models import DateSpan, Stance
from episode.record.dates import read_dates

RECENT_YEARS = 25
"""Dates this close to the filming are the speaker's own times unless the sentence says what the date is of."""
PERSONAL_YEARS = 100
FARTHEST_CUE = 40
"""Characters from a date to a cue in another clause before it."""
_ASPECTS = ("patent", "reigned", "withdrawn", "introduced", "active", "life", "event", "lost")
_HARD = frozenset({"patent", "introduced", "withdrawn", "reigned"})
_CLAUSE = re.compile(
    r"[,;:]|\b(?:but|because|although|though|whereas|and you|and it|and they|and then|so)\b", re.IGNORECASE
)
_ASKS = "is|was|are|were|could|can|do|did|does|might|would|what|when|how|who|which|where"
_READ_OFF = re.compile(
    r"\b(?:it|that|which|one|coin|mark|and|there) (?:says|reads|gives)\W+(?:the year |the date )?$|\b(?:it's|is|and) dated\W+$"
    r"|\bthe date(?: is|'s| on it| there)?\W+(?:is )?$",
    re.IGNORECASE,
)
"""A date read off the object itself: when it was made, whatever else the sentence speaks of."""
_QUESTION = re.compile(rf"^\W*(?:so |and |or |well |um |oh |right )*(?:{_ASKS})\b", re.IGNORECASE)


_CAPTION_QUESTION = re.compile(
    r"\W*(?:so |and |or |well |um |oh |right )*(?:is|was|are|were|could|can|might|would|do|did|does) "
    r"(?:it|that|this|they|these|those|he|she|you|we|there)\b"
)


def dated_statements(scene: Scene, lexicon: Lexicon, *, filmed: date | None, convention: str) -> Iterator[Statement]:
    """Every date or period claimed in the scene's sentence.

    Left out: questions, hopes, conditions, what is denied, the speaker's own times, and the bare name of a
    monarch beside a date of their life.
    """
    text = scene.text
    spans = read_dates(text, filmed=filmed, convention=convention)
    if not spans or (text.rstrip().endswith("?") and _QUESTION.search(text)) or _asks(text):
        return
    for number, span in enumerate(spans):
        start, end = _clause(text, span)
        clause = text[start:end]
        if _unsaid(text, clause, span):
            continue
        subject = subject_of(scene, span.at, lexicon)
        aspect = _aspect(text, clause, start, span)
        if _own_times(text, span, aspect, filmed):
            continue
        if span.kind == "reign" and aspect in {"reigned", "life"} and len(spans) > 1:
            continue
        if aspect == "event" and not subject.people:
            subject = Subject(None, (), (), ())
        opened = begun(text, span) if aspect == "made" else span
        yield Statement(
            scene=scene,
            kind="period" if span.kind in {"period", "reign"} else "date",
            at=span.at,
            until=span.until,
            about=subject.about,
            names=subject.names,
            wider=subject.wider,
            people=subject.people,
            aspect=aspect,
            span=opened,
            cautious=says("copied", text) or _compared(scene, start, end),
            against=_against(text, spans, number, aspect),
            begins=span if opened is not span else None,
        )


def _asks(text: str) -> bool:
    """A question in a caption, which has no question mark: it begins with its verb."""
    return text == text.lower() and text[-1:].isalnum() and bool(_CAPTION_QUESTION.match(text))


def _clause(text: str, span: DateSpan) -> tuple[int, int]:
    """The stretch between the joints of the sentence that holds the date."""
    start, end = 0, len(text)
    for joint in _CLAUSE.finditer(text):
        if joint.end() <= span.at:
            start = joint.end()
        elif joint.start() >= span.until:
            end = joint.start()
            break
    return start, end


def _unsaid(text: str, clause: str, span: DateSpan) -> bool:
    """Hoped for, supposed or denied. A denial must stand close before the date and in its own clause."""
    if (
        says("hoped", clause)
        or says("conditional", clause.replace(span.text, " "))
        or says("contrast", text[span.until : span.until + 30])
    ):
        return True
    close = text[max(0, span.at - 24) : span.at]
    denials = [m.end() for m in pattern("negated").finditer(close)]
    return bool(denials) and not re.search(r"[,;]|\bbut\b|\bonly\b|\buntil\b", close[denials[-1] :])


def _aspect(text: str, clause: str, start: int, span: DateSpan) -> str:
    """What the date is of: the nearest cue in its clause, else in the whole sentence before it."""
    if _READ_OFF.search(text[: span.at]):
        return "made"
    at = span.at - start
    found = [(gap, name) for name in _ASPECTS if (gap := nearest(name, clause, at)) is not None]
    if found:
        return min(found, key=lambda f: (f[0], _ASPECTS.index(f[1])))[1]
    before = text[: span.at]
    wide = [
        (gap, name)
        for name in ("patent", "introduced", "withdrawn")
        if (gap := nearest(name, before, span.at)) is not None
    ]
    return min(wide)[1] if wide and min(wide)[0] <= FARTHEST_CUE else "made"


def _own_times(text: str, span: DateSpan, aspect: str, filmed: date | None) -> bool:
    latest = span.to if span.to is not None else span.from_
    if latest is None or filmed is None:
        return False
    personal = says("personal", text)
    if latest >= filmed.year - RECENT_YEARS and span.kind != "age":
        return personal or aspect not in _HARD
    if span.kind == "age":
        return bool(re.search(r"\bago\b", span.text, re.IGNORECASE)) and personal
    earliest = span.from_ if span.from_ is not None else latest
    return personal and aspect not in _HARD and earliest >= filmed.year - PERSONAL_YEARS


def _compared(scene: Scene, start: int, end: int) -> bool:
    return any(p.mention.stance is Stance.COMPARED and start <= p.at < end for p in scene.mentions)


_GAP = 40


def _against(text: str, spans: tuple[DateSpan, ...], number: int, aspect: str) -> DateSpan | None:
    """The reign or period that the speaker puts beside the date as the same time ("Georgian, so about 1750").

    Of a monarch's birth, accession or death it is the reign by which they are known.
    """
    span = spans[number]
    if span.kind in {"period", "reign", "age"}:
        return None
    for other in spans:
        if other.kind not in {"period", "reign"} or other.note:
            continue
        if aspect in {"reigned", "life"} and other.kind == "reign":
            return other
        first, second = (other, span) if other.at < span.at else (span, other)
        between = text[first.until : second.at].strip(" ,.-")
        if second.at - first.until <= _GAP and (not between or pattern("bridge").fullmatch(between)):
            return other
    return None
