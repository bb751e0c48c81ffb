"""What the sound is asked: is this wording likelier than that one?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Question:
    """Between ``start`` and ``end`` (seconds in the clip, at most ``LONGEST_S`` apart) ``heard`` was written; was it ``instead``?

    ``among`` are the names that may have been said there: the recogniser is told them beforehand, so that it is asked
    as one who knows the words.
    """

    clip: str
    start: float
    end: float
    heard: str
    instead: str
    among: tuple[str, ...] = ()


LONGEST_S = 12.0


class Listener(Protocol):
    """Whoever can listen again."""

    def __call__(self, questions: Sequence[Question]) -> Sequence[float | None]:
        """For each question, how much likelier the sound is with ``instead`` than with ``heard``, in nats.

        ``None`` where there is no sound to ask. The same questions get the same answers.
        """
        ...
