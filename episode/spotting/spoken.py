"""A sentence with what it names, as the steps after naming see it."""

from __future__ import annotations

from dataclasses import dataclass

from episode.spotting.names import Span
from episode.spotting.passage import Passage


@dataclass(frozen=True, slots=True)
class Spoken:
    """A sentence of a clip with its mentions; ``share`` is how far into the day it is, 0 to 1."""

    passage: Passage
    spans: tuple[Span, ...]
    share: float
    start: float
    end: float
