"""Values that cross rooms.

Plain, frozen pydantic models named after the trade's words. Every time inside a clip is in
seconds from that clip's first frame; every year is a proleptic astronomical integer (43 is
AD 43, 0 is 1 BC, -54 is 55 BC); every wall-clock time is an aware ``datetime``.
"""

from __future__ import annotations

from datetime import date, datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Year = int
Day = date
"""A calendar day, under a name that no field hides."""
Seconds = Annotated[float, Field(ge=0)]
Share = Annotated[float, Field(ge=0, le=1)]


class Value(BaseModel):
    """Base of everything that crosses a room: immutable, strict about names, ``from`` as an alias."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Problem(Value):
    """Something wrong with the input that did not stop the work.

    ``where`` names the file, row, clip or time; ``remedy`` says what to do about it.
    """

    where: str
    what: str
    remedy: str = ""
    level: Literal["note", "warning", "error"] = "warning"


# --------------------------------------------------------------------------- footage


class StartFrom(StrEnum):
    """Where a clip's wall-clock start was read."""

    CREATION = "creation time"
    NAME = "file name"
    MODIFIED = "modification time"
    PREVIOUS = "end of the previous part"


class Clip(Value):
    """One file of footage, as probed.

    ``name`` is the path below ``footage/`` with forward slashes: the clip's identity everywhere.
    ``start`` is the camera's own opinion of the wall clock, not yet corrected by a ``Clock``.
    """

    name: str
    path: Path = Field(exclude=True)
    duration: Seconds
    start: datetime
    start_from: StartFrom
    camera: str
    make: str | None = None
    model: str | None = None
    width: int | None = None
    height: int | None = None
    rotation: int = 0
    fps: float | None = None
    audio_tracks: int = 0
    has_video: bool = False
    transcript: Path | None = Field(default=None, exclude=True)
    """A transcript file beside the clip that stands in for recognition."""


# --------------------------------------------------------------------------- speech


class Word(Value):
    """One word as transcribed. ``as_heard`` keeps the recogniser's own words where a spelling replaced them."""

    start: Seconds
    end: Seconds
    word: str
    probability: Share
    as_heard: str | None = None


class Segment(Value):
    """A stretch of speech in one clip."""

    clip: str
    start: Seconds
    end: Seconds
    text: str
    words: tuple[Word, ...] = ()


class Hearing(Value):
    """How a clip's words were come by: ``how`` is ``recognised``, ``transcript file``, ``no sound`` or ``failed``."""

    clip: str
    how: Literal["recognised", "transcript file", "no sound", "failed"]
    model: str | None = None
    language: str | None = None


class Transcript(Value):
    """The words of the whole day, clip after clip in order of time."""

    segments: tuple[Segment, ...] = ()
    clips: tuple[Hearing, ...] = ()


# --------------------------------------------------------------------------- lexicon


class Kind(StrEnum):
    """What a vocabulary term names."""

    OBJECT = "object"
    WARE = "ware"
    MATERIAL = "material"
    MAKER = "maker"
    PLACE = "place"
    PERIOD = "period"
    FEATURE = "feature"


class Term(Value):
    """One row of a vocabulary pack. Maps to SKOS: prefLabel, altLabel, hiddenLabel, broader, scopeNote."""

    term: str
    kind: Kind
    also: tuple[str, ...] = ()
    heard_as: tuple[str, ...] = ()
    broader: str | None = None
    broader_more: tuple[str, ...] = ()
    """Further terms that it stands below; ``broader`` alone is the main line upward."""
    material: str | None = None
    from_: Year | None = Field(default=None, alias="from")
    to: Year | None = None
    source: str | None = None
    note: str | None = None
    pack: str = ""
    match: str | None = None
    """URI of a matching concept in a published thesaurus, where the terms agree."""
    address: str | None = None
    """The term's own URI, where it comes from a published thesaurus."""
    exact: tuple[str, ...] = ()
    close: tuple[str, ...] = ()
    """URIs of concepts elsewhere that are the same, and that are nearly the same (skos:exactMatch, closeMatch)."""
    everyday: bool = False
    """The term is a common word ("pin", "seal", "marble"): a mention only where the sense is the trade's."""
    everyday_names: tuple[str, ...] = ()
    """Those of its other names that are common words ("stem", "onion", "ring")."""


# --------------------------------------------------------------------------- spotting


class Stance(StrEnum):
    """What the speaker does with the object (definitions: the project's file contract)."""

    FOUND = "found"
    EARLIER = "earlier"
    RECAP = "recap"
    ABSENT = "absent"
    HOPED = "hoped"
    COMPARED = "compared"
    UNSURE = "unsure"
    ASIDE = "aside"


class How(StrEnum):
    """By which evidence a mention was spotted."""

    WRITTEN = "as written"
    OTHER_NAME = "other name"
    MISHEARING = "known mishearing"
    SOUNDS_LIKE = "sounds like"
    NEAR_SPELLING = "near spelling"


class Mention(Value):
    """One naming of one term: at most one per sentence and term."""

    clip: str
    start: Seconds
    end: Seconds
    heard: str
    term: str
    kind: Kind
    how: How
    score: Share
    stance: Stance
    quote: str = ""
    """The sentence it stands in."""


# --------------------------------------------------------------------------- matching


class LogEntry(Value):
    """One row of the find log. ``row`` is the row's number in the file, header being row 1."""

    find: str
    row: int
    time: datetime | None = None
    object: str = ""
    material: str = ""
    period: str = ""
    from_: Year | None = Field(default=None, alias="from")
    to: Year | None = None
    maker: str = ""
    place: str = ""
    grid: str = ""
    photo: str = ""
    notes: str = ""
    other: dict[str, str] = Field(default_factory=dict)
    """Columns that nobody knows, kept under their own headings."""


class Clock(Value):
    """What to add to a camera's time to get the log's time.

    ``error_s`` is half the width of a 95 % interval for the offset; ``basis`` says in words what it rests on.
    """

    camera: str
    clip: str | None = None
    offset_s: float = 0.0
    drift_ppm: float = 0.0
    pairs: int = 0
    error_s: float | None = None
    basis: str = ""


class Moment(Value):
    """An object's time on screen: mentions that belong together, tied to a log entry or not."""

    id: str
    clip: str
    start: Seconds
    end: Seconds
    at: datetime
    term: str | None
    stance: Stance
    find: str | None = None
    confidence: Share = 0.0
    why: tuple[str, ...] = ()
    """Why it was paired with its log entry, or why not."""
    mentions: tuple[Mention, ...] = ()
    title: str = ""
    """A few plain words for it; empty means the term."""
    still: str | None = None
    """Path of its still, below ``out/``."""
    still_at: Seconds | None = None
    """Which second of the clip shows it best; at or shortly after the first naming."""


class Matched(Value):
    """What the ``matching`` room gives."""

    moments: tuple[Moment, ...] = ()
    clocks: tuple[Clock, ...] = ()
    unlogged: tuple[str, ...] = ()
    """Ids of found moments without a log entry."""
    unfilmed: tuple[str, ...] = ()
    """Find numbers of log entries without a moment."""
    problems: tuple[Problem, ...] = ()


# --------------------------------------------------------------------------- record and claims


class Grade(StrEnum):
    """How well a fact is known. ``from memory`` can never make a claim supported."""

    PRIMARY = "primary"
    SECONDARY = "secondary"
    MEMORY = "from memory"


class Fact(Value):
    """One published fact about a type, ware, maker, period, person or event.

    ``topic`` says what the years (or the place) are of: ``range`` (made or in use between), ``introduced``,
    ``withdrawn``, ``reign``, ``period``, ``active`` (a firm or a person at work), ``life``, ``patent``,
    ``event``, ``place``, ``material``, ``origin``, ``rule``.
    """

    about: str
    topic: str
    statement: str
    from_: Year | None = Field(default=None, alias="from")
    to: Year | None = None
    place: str = ""
    person: str = ""
    source: str
    grade: Grade
    note: str = ""


class DateSpan(Value):
    """A date phrase read as an inclusive interval of years.

    ``None`` for an end means open. ``edtf`` is ISO 8601-2 level 1. ``at`` and ``until`` are character
    positions of the phrase in the text it was read from.
    """

    text: str
    at: int
    until: int
    from_: Year | None = Field(alias="from")
    to: Year | None
    edtf: str
    kind: str
    """``year``, ``decade``, ``century``, ``range``, ``period``, ``reign``, ``age``, ``before``, ``after``."""
    approximate: bool = False
    uncertain: bool = False
    convention: str = ""
    """Which published convention fixed the ends, where conventions differ."""
    note: str = ""


class Verdict(StrEnum):
    """How a claim stands against the record."""

    SUPPORTED = "supported"
    CONTRADICTED = "contradicted"
    IMPRECISE = "imprecise"
    UNREFERENCED = "unreferenced"


ClaimKind = Literal["date", "period", "maker", "place", "person", "quantity", "superlative", "material", "origin"]


class Evidence(Value):
    """What a verdict rests on: a statement, its source as a short reference, and the years it gives."""

    statement: str
    source: str
    from_: Year | None = Field(default=None, alias="from")
    to: Year | None = None
    grade: Grade = Grade.SECONDARY


class Claim(Value):
    """A checkable statement made on camera."""

    id: str
    clip: str
    start: Seconds
    end: Seconds
    quote: str
    about: str | None
    find: str | None
    kind: ClaimKind
    edtf: str | None
    from_: Year | None = Field(alias="from")
    to: Year | None
    verdict: Verdict
    evidence: tuple[Evidence, ...] = ()
    reference: str | None = None
    note: str = ""
    moment: str | None = None
    convention: str = ""
    aspect: str = "made"
    """What a date is of: ``made``, ``introduced``, ``patent`` and so on. Only ``made`` dates the find itself."""
    struck: bool = False
    """A person struck it from the description."""


PromiseKind = Literal["link", "detail", "question", "callback", "thanks", "sponsor", "event"]


class Promise(Value):
    """Something said on camera that the description must now carry or the person must do."""

    id: str
    clip: str
    start: Seconds
    end: Seconds
    quote: str
    kind: PromiseKind
    text: str
    kept: bool = False
    by: str | None = None
    moment: str | None = None


class Caution(Value):
    """Something that law, permit or safety may have to do with; worded as "may be", never as advice to keep or move."""

    kind: Literal["treasure", "remains", "ordnance", "wreck", "ivory", "permit", "sharps", "tide"]
    text: str
    moments: tuple[str, ...] = ()
    finds: tuple[str, ...] = ()
    source: str = ""


class Reference(Value):
    """A row of the person's ``references.csv``: ``claim`` is a claim id or the statement's words."""

    claim: str
    reference: str
    note: str = ""
    row: int = 0


class Correction(Value):
    """Something said on camera, put right after publishing."""

    clip: str
    start: Seconds
    quote: str
    text: str
    """What is so instead."""
    reference: str = ""


# --------------------------------------------------------------------------- drafting


class Chapter(Value):
    """A chapter; times are seconds on the programme's timeline (all clips in order)."""

    start: Seconds
    end: Seconds
    title: str
    moments: tuple[str, ...] = ()


# --------------------------------------------------------------------------- settings


class Link(Value):
    """A link the description may carry; ``about`` are words that a promise may use for it."""

    label: str
    url: str
    about: tuple[str, ...] = ()


class Disclosures(Value):
    """What a viewer or a harbour authority must be told."""

    sponsor: str = ""
    gifted: tuple[str, ...] = ()
    permit: str = ""
    permit_number: str = ""
    show_permit_number: bool = False
    statement: str = ""


class Settings(Value):
    """``episode.toml``, with what was assumed where it is silent."""

    title: str = ""
    date: Day | None = None
    time_zone: str = "UTC"
    place: str = ""
    presenter: str = ""
    packs: tuple[str, ...] | None = None
    """Built-in packs by name; ``None`` means all, an empty tuple none."""
    vocabulary: tuple[str, ...] = ()
    """The person's own vocabulary files, relative to the day folder."""
    convention: str = "historic-england"
    jurisdiction: str = "england"
    model: str = "base"
    language: str = "en"
    clean_sound: bool = False
    listen_again: bool = True
    """Whether to ask the sound about names that the words only sound like, which takes a quarter longer."""
    trade_spelling: bool = True
    """Whether the written transcript takes the trade's spelling of names that were told by their sound."""
    trade_spelling_from: Share = 0.8
    """The least score of a mention whose words are replaced."""
    description_limit: int = Field(default=5000, ge=200)
    chapter_limit: int = Field(default=0, ge=0)
    """Most chapters wanted; 0 means one for each find worth it."""
    unverified: Literal["hedge", "leave out"] = "hedge"
    grid_figures: Literal[0, 2, 4, 6, 8, 10] = 4
    private_places: tuple[str, ...] = ()
    cameras: dict[str, str] = Field(default_factory=dict)
    """Folder or file-name prefix below ``footage/`` to camera name."""
    links: tuple[Link, ...] = ()
    disclosures: Disclosures = Disclosures()
    credits: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    """What was not said and had to be assumed, in words."""
    problems: tuple[Problem, ...] = ()
    """What in ``episode.toml`` could not be used."""


class Decision(Value):
    """One line of ``decisions.jsonl``: what a person decided, and what it was about.

    The subject is known by content (clip, second, term, words), never by a running number, so that it still
    fits when the recogniser, the vocabulary or the clips change. ``value`` is the action's own: a find number
    or null for ``pair``, a stance for ``stance``, a reference for ``reference``, and so on.
    """

    model_config = ConfigDict(frozen=True, extra="allow", populate_by_name=True)

    action: Literal["pair", "reject", "stance", "reference", "strike", "kept", "correct"]
    at: str = ""
    """When it was decided (ISO 8601)."""
    clip: str | None = None
    start: float | None = None
    term: str | None = None
    quote: str | None = None
    value: str | bool | None = None
    reference: str | None = None
    line: int = 0
