"""Errors a person meets.

Raised where the fact is known; the command line prints ``what``, ``where`` and ``remedy`` and exits with
``status``. Statuses: 0 done, 1 done but a person is needed (``--strict``), 2 unusable input or arguments,
3 a part failed and the rest was kept.
"""

from __future__ import annotations

from enum import IntEnum


class Exit(IntEnum):
    """Exit statuses of every command."""

    DONE = 0
    NEEDS_PERSON = 1
    UNUSABLE = 2
    PART_FAILED = 3
    INTERRUPTED = 130


class EpisodeError(Exception):
    """Base of every error that is the input's or the machine's, not the program's."""

    status: Exit = Exit.UNUSABLE

    def __init__(self, what: str, *, where: str = "", remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.remedy = remedy

    def __str__(self) -> str:
        head = f"{self.where}: {self.what}" if self.where else self.what
        return f"{head}\n  {self.remedy}" if self.remedy else head


class UnusableInput(EpisodeError):
    """A file or folder of the person's that cannot be worked with."""


class UnusableMedia(EpisodeError):
    """One clip that cannot be read; the rest of the day goes on."""

    status = Exit.PART_FAILED


class MissingModel(EpisodeError):
    """The recogniser's weights are absent, damaged or not the published ones."""


class CannotWrite(EpisodeError):
    """A result could not be written whole, so it was not written at all."""

    status = Exit.PART_FAILED


class DayLocked(EpisodeError):
    """Another run holds the day folder."""
