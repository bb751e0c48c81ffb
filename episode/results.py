"""The files in ``out/``: their names, their shapes, and their JSON Schemas.

Every JSON file carries ``format`` (its name and version). A renamed or removed key is a new version.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

from episode.cutting.kept import Kept
from episode.cutting.pieces import Appearance, CutPiece, Dropped, Retimed, Traced
from episode.day.privacy import blur_text
from episode.drafting.result import DayResult
from episode.models import (
    Caution,
    Chapter,
    Claim,
    Clip,
    Clock,
    Decision,
    Hearing,
    LogFinding,
    Mention,
    Moment,
    Problem,
    Promise,
    Segment,
    Settings,
    Tie,
)


class Document(BaseModel):
    """Base of every JSON file in ``out/``."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class TranscriptDocument(Document):
    """``transcript.json``: words with times and confidences, clip after clip."""

    format: Literal["episode.transcript/1"] = "episode.transcript/1"
    segments: tuple[Segment, ...]
    clips: tuple[Hearing, ...]


class MentionsDocument(Document):
    """``mentions.json``: every naming of a term, before they are grouped."""

    format: Literal["episode.mentions/1"] = "episode.mentions/1"
    mentions: tuple[Mention, ...]


class MomentsDocument(Document):
    """``moments.json``: mentions grouped into moments, each tied to the log or not, and the clocks between."""

    format: Literal["episode.moments/1"] = "episode.moments/1"
    moments: tuple[Moment, ...]
    clocks: tuple[Clock, ...]
    ties: tuple[Tie, ...] = ()
    clips: tuple[Clip, ...]
    unlogged: tuple[str, ...]
    unfilmed: tuple[str, ...]


class ClaimsDocument(Document):
    """``claims.json``: every factual claim with its verdict."""

    format: Literal["episode.claims/1"] = "episode.claims/1"
    claims: tuple[Claim, ...]


class PromisesDocument(Document):
    """``promises.json``: what the description must carry or the person must do."""

    format: Literal["episode.promises/1"] = "episode.promises/1"
    promises: tuple[Promise, ...]


class CautionsDocument(Document):
    """``cautions.json``: what law, permit or safety may have to do with."""

    format: Literal["episode.cautions/1"] = "episode.cautions/1"
    cautions: tuple[Caution, ...]


class LogCheckDocument(Document):
    """``log_check.json``: where the find log, the film and the photographs do not agree."""

    format: Literal["episode.log_check/1"] = "episode.log_check/1"
    findings: tuple[LogFinding, ...]


class ChaptersDocument(Document):
    """``chapters.json``: chapters on the programme's timeline, in seconds."""

    format: Literal["episode.chapters/1"] = "episode.chapters/1"
    timeline: str
    chapters: tuple[Chapter, ...]


class CutDocument(Document):
    """``cut/cut.json``: where each piece of the finished cut came from, and what of the day is not in it."""

    format: Literal["episode.cut/1"] = "episode.cut/1"
    cut: str
    duration: float
    how: Literal["sound", "otio", "edl"]
    pieces: tuple[CutPiece, ...]
    dropped: tuple[Dropped, ...]
    appearances: tuple[Appearance, ...]


class SummaryDocument(Document):
    """What ``make --json`` prints: how much there is, what is left, and what went wrong."""

    format: Literal["episode.summary/1"] = "episode.summary/1"
    clips: int
    seconds: float
    segments: int
    respelt: int
    """How many times the written transcript has the trade's spelling in place of the words heard."""
    moments: int
    finds: int
    paired: int
    claims: int
    promises: int
    chapters: int
    selects_s: float
    """Seconds of footage that the selects keep."""
    left: dict[str, int]
    """How much is left for a person before publishing, by kind."""
    problems: tuple[Problem, ...]
    assumed: tuple[str, ...]
    out: str


SCHEMAS: dict[str, type[BaseModel]] = {
    "transcript": TranscriptDocument,
    "mentions": MentionsDocument,
    "moments": MomentsDocument,
    "claims": ClaimsDocument,
    "promises": PromisesDocument,
    "cautions": CautionsDocument,
    "log_check": LogCheckDocument,
    "chapters": ChaptersDocument,
    "cut": CutDocument,
    "trace": Kept,
    "summary": SummaryDocument,
    "settings": Settings,
    "decisions": Decision,
}


def json_schema(name: str) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of the file ``name``; of one line for ``decisions``.

    Raises:
        KeyError: no such file.
    """
    model = SCHEMAS[name]
    mode: Literal["validation", "serialization"] = (
        "validation" if name in {"settings", "decisions"} else "serialization"
    )
    schema = model.model_json_schema(by_alias=True, mode=mode)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def document(name: str, result: DayResult, mentions: tuple[Mention, ...] = ()) -> Document:
    """The document ``name`` of a day's results (``chapters`` is one of drafting's formats).

    Raises:
        KeyError: no such document, or one that is not made from results.
    """
    matched = result.matched
    makers: dict[str, Any] = {
        "transcript": lambda: TranscriptDocument(segments=result.written.segments, clips=result.written.clips),
        "mentions": lambda: MentionsDocument(mentions=mentions),
        "moments": lambda: MomentsDocument(
            moments=matched.moments,
            clocks=matched.clocks,
            ties=matched.ties,
            clips=result.clips,
            unlogged=matched.unlogged,
            unfilmed=matched.unfilmed,
        ),
        "claims": lambda: ClaimsDocument(claims=result.claims),
        "promises": lambda: PromisesDocument(promises=result.promises),
        "cautions": lambda: CautionsDocument(cautions=result.cautions),
        "log_check": lambda: LogCheckDocument(findings=result.log_check),
    }
    made: Document = makers[name]()
    return made


_TOLD = frozenset(
    "text quote heard title statement note why by basis what where term about reference wording source todo cut".split()
)
"""Keys whose strings are words of the day, in which a find spot may stand."""


def cut_document(traced: Traced, retimed: Retimed) -> CutDocument:
    """The document of a traced cut and of what moved with it."""
    return CutDocument(
        cut=traced.cut,
        duration=traced.duration,
        how=traced.how,
        pieces=traced.pieces,
        dropped=retimed.dropped,
        appearances=retimed.appearances,
    )


def plain(value: Document, settings: Settings) -> dict[str, Any]:
    """``value`` as plain data for JSON, find spots blurred as ``settings`` say.

    Nulls are kept, but a word that stands as it was heard carries no ``as_heard``.
    """
    data = value.model_dump(mode="json", by_alias=True)
    if isinstance(value, TranscriptDocument):
        for segment in data["segments"]:
            for word in segment["words"]:
                if word["as_heard"] is None:
                    del word["as_heard"]
        return data  # its places are withheld word by word before it comes here
    blurred: dict[str, Any] = _blurred(data, settings)
    return blurred


def _blurred(data: Any, settings: Settings, *, told: bool = False) -> Any:
    if isinstance(data, dict):
        return {key: _blurred(item, settings, told=key in _TOLD) for key, item in data.items()}
    if isinstance(data, list):
        return [_blurred(item, settings, told=told) for item in data]
    return blur_text(data, settings) if told and isinstance(data, str) else data
