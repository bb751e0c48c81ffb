"""A statement lifted out of a sentence, before it is weighed."""

from __future__ import annotations

from dataclasses import dataclass, field

from episode.claims.scenes import Scene
from episode.models import ClaimKind, DateSpan


@dataclass(frozen=True)
class Statement:
    """What is said: characters ``at`` to ``until`` of the scene's sentence.

    ``about`` is a term or a name; ``names`` are further names under which the record may hold facts about it,
    nearest first. ``aspect`` says what a date is of: ``made``, ``patent``, ``introduced``, ``withdrawn``,
    ``life``, ``reigned``, ``active``, ``event``, ``lost``. ``value`` is what is claimed, where it is no date.
    """

    scene: Scene
    kind: ClaimKind
    at: int
    until: int
    about: str | None
    names: tuple[str, ...] = ()
    aspect: str = "made"
    span: DateSpan | None = None
    value: str = ""
    people: tuple[str, ...] = ()
    cautious: bool = False
    wider: tuple[str, ...] = field(default=())
    against: DateSpan | None = None
    """A reign or period said of the same thing in the same breath, which the date must fit."""

    begins: DateSpan | None = None
    """The date as said where it only begins something ("made from about 1600"); ``span`` is then open to the end."""

    @property
    def words(self) -> str:
        """The words that make the statement."""
        return self.scene.text[self.at : self.until]
