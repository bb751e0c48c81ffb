"""What the page shows, as plain values, every string fit to go out."""

from __future__ import annotations

from dataclasses import dataclass, field

from episode.drafting.checklist import Left
from episode.models import Problem
from episode.review.strip import Strip


@dataclass(frozen=True)
class ClaimView:
    """A claim as a proof reader meets it: its words inside their sentence, the verdict, what it rests on."""

    id: str
    key: str
    before: str
    words: str
    after: str
    verdict: str
    years: str
    kind: str
    evidence: tuple[tuple[str, str, str], ...]
    """(statement, source, years)"""
    reference: str
    note: str
    at: str
    watch: str
    """Address of the clip from there on; empty where there is none to play."""
    needs: bool
    struck: bool = False
    reworded: str = ""


@dataclass(frozen=True)
class Sheet:
    """A moment: a whole sheet where an object is shown, else one line."""

    id: str
    key: str
    name: str
    number: str
    unknown: bool
    stance: str
    stance_words: str
    time: str
    at: str
    watch: str
    clip: str
    still: str
    words: tuple[tuple[str, str], ...]
    """(text, what was heard in its place or nothing)"""
    logged: tuple[tuple[str, str], ...]
    why: tuple[str, ...]
    confidence: str
    share: float
    claims: tuple[ClaimView, ...]
    needs: tuple[str, ...]
    whole: bool
    paired: bool
    decided: tuple[str, ...] = ()
    """What the person decided about it, in words."""
    accepted: bool = False
    log: bool = True
    """Whether the day has a log in which it could stand."""


@dataclass(frozen=True)
class PromiseView:
    """Something owed, and the line that keeps it."""

    id: str
    key: str
    kind: str
    text: str
    quote: str
    kept: bool
    by: str
    at: str
    watch: str


@dataclass(frozen=True)
class Spoken:
    """A sentence of the transcript with where it was said."""

    at: str
    watch: str
    parts: tuple[tuple[str, str], ...]
    """(text, what was heard in its place or nothing)"""


@dataclass(frozen=True)
class ChapterView:
    """A chapter as its row in the list."""

    key: str
    start: str
    title: str
    lasts: str
    needs: tuple[str, ...] = ()


@dataclass
class View:
    """The page's content, top to bottom."""

    title: str
    date: str
    place: str
    presenter: str
    length: str
    left: tuple[Left, ...]
    left_total: int
    strip: Strip | None
    sheets: list[Sheet]
    general: list[ClaimView]
    promises: list[PromiseView]
    cautions: list[tuple[str, str, str, str]]
    unlogged: list[tuple[str, str]]
    unfilmed: list[tuple[str, str, str]]
    chapters: list[ChapterView]
    description: str
    description_size: int
    description_limit: int
    draft_lines: list[list[tuple[str, tuple[tuple[str, str, str], ...]]]]
    """Each line of the draft in pieces, each with what it rests on: kind, address on the page or nothing, label."""
    wordings: list[tuple[str, str, str]]
    """(file name, what it is, text)"""
    problems: list[Problem]
    assumed: list[str]
    spoken: list[tuple[str, list[Spoken]]] = field(default_factory=list)
    film: str = ""
    """Where the finished film came from, as SVG whose strings are escaped."""
    film_name: str = ""
    """The finished film that chapters and description are of; empty where they are the raw clips'."""
    film_claims: list[ClaimView] = field(default_factory=list)
    """Claims made in pieces of the film that come from no clip."""
    film_chapters: list[ChapterView] = field(default_factory=list)
    log_check: list[tuple[str, str, str, str]] = field(default_factory=list)
    """(row, what, what to do, moment) but for what the two lists beside it say."""
