"""Progress as an observer: rooms report, the command line draws, nobody else needs to care."""

from __future__ import annotations

from threading import Lock
from typing import Protocol


class Progress(Protocol):
    """What a long-running room calls. Amounts are in seconds of footage."""

    def begin(self, what: str, total: float) -> None:
        """A piece of work of ``total`` seconds begins; ``what`` is shown."""

    def advance(self, amount: float) -> None:
        """``amount`` more seconds of it are done."""

    def end(self, note: str = "") -> None:
        """It is finished (or left); ``note`` says how."""

    def say(self, text: str) -> None:
        """One line for the person, outside any bar."""


class Quiet:
    """Reports to nobody."""

    def begin(self, what: str, total: float) -> None:
        """Ignore."""

    def advance(self, amount: float) -> None:
        """Ignore."""

    def end(self, note: str = "") -> None:
        """Ignore."""

    def say(self, text: str) -> None:
        """Ignore."""


class OneAtATime(Quiet):
    """Advances another's progress from several threads."""

    def __init__(self, watch: Progress) -> None:
        self._watch, self._lock = watch, Lock()

    def advance(self, amount: float) -> None:
        """As the other, one thread after the other."""
        with self._lock:
            self._watch.advance(amount)
