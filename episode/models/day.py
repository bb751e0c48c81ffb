"""What a person prepares and decides: the log, settings, references, decisions."""

from __future__ import annotations

import string
from datetime import datetime
from typing import Literal

from pydantic import ConfigDict, Field, FiniteFloat, field_validator

from episode.models.base import Day, Problem, Seconds, Share, Value, Year


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


_TITLE_FIELDS = ("name", "maker", "date", "number")


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
    short_limit: int = Field(default=300, ge=80)
    """Longest short form of the description."""
    chapter_limit: int = Field(default=0, ge=0)
    """Most chapters wanted; 0 means one for each find worth it."""
    selects_minutes: float = Field(default=0, ge=0, allow_inf_nan=False)
    """Longest that the selects may be in all, in minutes; 0 means as long as the finds are."""
    title_style: str = Field(default="{name}, {maker}, {date}", max_length=60)
    """A find's chapter title: words, ``{name}``, ``{maker}``, ``{date}`` and ``{number}`` (its number in the log)."""
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

    @field_validator("title_style")
    @classmethod
    def _fillable(cls, style: str) -> str:
        try:
            parts = list(string.Formatter().parse(style))
        except ValueError as error:
            raise ValueError(f"a brace is left open or has no partner ({error})") from error
        fields = [field for _, field, _, _ in parts if field is not None]
        strange = [field for field in fields if field not in _TITLE_FIELDS]
        if strange or any(spec or conversion for _, _, spec, conversion in parts):
            wrong = f"{{{strange[0]}}} is no field" if strange else "fields take no formats"
            raise ValueError(f"{wrong}; there are {', '.join(f'{{{name}}}' for name in _TITLE_FIELDS)}")
        if "name" not in fields:
            raise ValueError("{name} has to be in it")
        return style


Action = Literal[
    "accept",
    "reject",
    "rename",
    "stance",
    "pair",
    "split",
    "join",
    "move",
    "add",
    "still",
    "reference",
    "reword",
    "strike",
    "correct",
    "kept",
    "title",
    "begin",
    "drop",
    "undo",
]
"""What a person may decide; what each needs is said in ``episode.day.actions``."""


class Decision(Value):
    """One line of ``decisions.jsonl``: what a person decided, and what it was about.

    The subject is known by content (clip, second, term, words), never by a running number, so that it still
    fits when the recogniser, the vocabulary or the clips change. ``value`` is the action's own: a find number
    or null for ``pair``, a stance for ``stance``, a reference for ``reference``, a second for ``split``, and so
    on. Fields that this version does not know are kept.
    """

    model_config = ConfigDict(frozen=True, extra="allow", populate_by_name=True)

    id: str = ""
    """Its own name, for ``undo``. A line without one goes by its number and content."""
    at: str = ""
    """When it was decided (ISO 8601)."""
    action: Action
    clip: str | None = None
    start: FiniteFloat | None = None
    """The subject's start, in seconds of its clip (for a chapter, where it starts in that clip)."""
    end: FiniteFloat | None = None
    """The subject's end, where it has one."""
    term: str | None = None
    """The subject's term (what a claim is about; the first moment's for a chapter)."""
    quote: str | None = None
    """Words spoken in it."""
    kind: str | None = None
    """A claim's or promise's kind: one sentence may hold several."""
    title: str | None = None
    """A chapter's title when it was decided."""
    value: FiniteFloat | str | bool | None = None
    stance: str | None = None
    """Of a find that is added."""
    new_start: FiniteFloat | None = None
    new_end: FiniteFloat | None = None
    """Where a moment begins and ends from now on (``move``); what is not given stays."""
    reference: str | None = None
    line: int = 0
    """Its line in the file, once read."""


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
