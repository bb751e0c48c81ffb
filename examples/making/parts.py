"""What a script is made of: sentences with their gold, and stretches of walking between them.

A sentence carries its own gold: ``{words said|term|stance}`` marks a mention. ``shows`` names the
drawing on screen; ``near`` holds it close to the lens. ``find`` is the log number in hand, or a
letter for an object that never reached the log.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Fact:
    """A checkable statement inside a sentence. ``words`` is the part of the sentence that makes it."""

    kind: str
    words: str
    from_: int | None = None
    to: int | None = None
    about: str | None = None
    verdict: str | None = None
    why: str = ""
    source: str = ""


@dataclass(frozen=True)
class Owed:
    """Something that the description must carry, or the person must do."""

    kind: str
    text: str


@dataclass(frozen=True)
class Say:
    """One sentence. ``pause`` is the silence after it in seconds; None draws one."""

    text: str
    speed: float = 1.0
    pause: float | None = None
    find: str | None = None
    shows: str | None = None
    near: bool = False
    claims: tuple[Fact, ...] = ()
    promise: Owed | None = None


@dataclass(frozen=True)
class Walk:
    seconds: float


@dataclass(frozen=True)
class ClipScript:
    file: str
    camera: str
    starts: str
    shore: str
    noise: str
    parts: tuple[Say | Walk, ...] = field(default_factory=tuple)
