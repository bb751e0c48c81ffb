"""The live page's state: what is shown, what was decided, and the run that works a decision through the day.

A decision is written first, then shown at once on the thing that it is about, and then worked through everything
in the background: pairs, clocks, claims, chapters, description. Pages ask for what changed since they last looked,
so that two of them show the same.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from episode.day.deciding import add_decision
from episode.day.decisions import NAME, read_decisions
from episode.day.undoing import next_undo
from episode.drafting.result import DayResult
from episode.errors import EpisodeError
from episode.models import Decision
from episode.review.asking import Asked, decision
from episode.review.at_once import at_once
from episode.review.deeds import Deed, deeds
from episode.review.keys import moment_key
from episode.review.page import assembled
from episode.review.parts import find, finds, history, parts
from episode.review.view import Said, retold, said_of, sheet, view

WORKED = Callable[[tuple[Decision, ...]], DayResult]
LOOK_EVERY_S = 1.0
"""How often the decisions' file is looked at: another program may add to it."""
REST_S = 1.5
"""Quiet time after a decision before the results are written."""


@dataclass(frozen=True)
class _Part:
    version: int
    html: str


class Desk:
    """One day on the desk. All methods may be called from any thread.

    ``work`` gives the day's results for decisions; ``write`` puts results into ``out/``
    and gives them back as they were written, with their stills.
    """

    def __init__(
        self,
        folder: Path,
        day: DayResult,
        work: WORKED,
        write: Callable[[DayResult], DayResult],
        terms: Sequence[str] = (),
    ) -> None:
        self._folder = folder
        self._work = work
        self._write = write
        self._terms = tuple(terms)
        self._lock = threading.RLock()
        self._wake = threading.Event()
        self._stopping = False
        self._version = 0
        self._parts: dict[str, _Part] = {}
        self._finds: dict[str, _Part] = {}
        self._order_version = 0
        self._working = False
        self._trouble = ""
        self._unwritten = False
        self._size = self._file_size()
        self._decisions = read_decisions(folder)[0]
        self.day = day
        self._said: Said = said_of(day)
        self._publish(day)
        self._thread = threading.Thread(target=self._run, name="desk", daemon=True)
        self._thread.start()

    def page(self) -> str:
        """The whole page as it stands."""
        with self._lock:
            title = self._shown.title
            part = {name: p.html for name, p in self._parts.items()}
            sheets = {name: p.html for name, p in self._finds.items()}
            version = self._version
        return assembled(title, part, sheets, live=version, terms=self._terms)

    def decide(self, ask: Asked) -> tuple[Decision, str]:
        """Write what was asked as a decision, and show it at once. Gives the decision and what was done in words.

        Raises:
            Refused: it cannot be.
            CannotWrite: it could not be written; nothing has changed.
        """
        with self._lock:
            made = add_decision(self._folder, decision(ask, self.day))
            before = self.day
            self._decisions = (*self._decisions, made)
            self._size = self._file_size()
            self._working = True
            changed = at_once(before, made)
            if changed is not None:
                self._show_at_once(before, changed)
            self._publish_history()
            self._wake.set()
        return made, deeds([made], self.day.settings)[0].said()

    def undo_last(self) -> str | None:
        """The id of the last decision in force."""
        with self._lock:
            last = next_undo(self._decisions)
            return last.id if last else None

    def since(self, version: int) -> dict[str, Any]:
        """What a page that stands at ``version`` has to put in place."""
        with self._lock:
            known = {**self._parts, **self._finds}
            return {
                "version": self._version,
                "parts": {key: p.html for key, p in known.items() if p.version > version},
                "order": list(self._finds) if self._order_version > version else None,
                "working": self._working,
                "unwritten": self._unwritten,
                "trouble": self._trouble,
            }

    def close(self) -> None:
        """Stop, with the results of all decisions written."""
        self._stopping = True
        self._wake.set()
        self._thread.join(timeout=60)

    # ------------------------------------------------------------------ what is shown

    def _publish(self, day: DayResult) -> None:
        said = said_of(day, self._said)
        shown = view(day, said)
        fresh = parts(shown, live=True)
        sheets = finds(shown, live=True)
        with self._lock:
            self.day, self._said, self._shown = day, said, shown
            self._replace(self._parts, fresh)
            before = list(self._finds)
            self._replace(self._finds, sheets)
            self._finds = {key: self._finds[key] for key in sheets}
            if list(sheets) != before:
                self._version += 1
                self._order_version = self._version
            self._publish_history()

    def _show_at_once(self, before: DayResult, changed: DayResult) -> None:
        """The sheets that differ, and nothing else: the rest follows when it was worked through."""
        old = {m.id: m for m in before.moments}
        claims_before = {c.id: c for c in before.claims}
        touched = {m.id for m in changed.moments if old.get(m.id) != m}
        touched |= {c.moment for c in changed.claims if c.moment and claims_before.get(c.id) != c}
        self.day = changed
        fresh = {
            moment_key(old[m.id]): find(sheet(m, changed, self._said, key=moment_key(old[m.id])), live=True)
            for m in changed.moments
            if m.id in touched and m.id in old
        }
        self._replace(self._finds, {k: v for k, v in fresh.items() if k in self._finds})
        wanted = [
            part
            for part, differs in (
                ("promises", changed.promises != before.promises or changed.film != before.film),
                ("chapters", changed.chapters != before.chapters),
                ("general", changed.claims != before.claims),
                ("film", changed.film != before.film),
            )
            if differs
        ]
        if wanted:
            shown = retold(self._shown, changed, self._said)
            self._replace(self._parts, parts(shown, live=True, only=wanted))

    def _replace(self, shelf: dict[str, _Part], fresh: dict[str, str]) -> None:
        changed = {key: html for key, html in fresh.items() if key not in shelf or shelf[key].html != html}
        if changed:
            self._version += 1
            for key, html in changed.items():
                shelf[key] = _Part(self._version, html)

    def _publish_history(self) -> None:
        self._replace(self._parts, {"history": history(self._deeds())})

    def _deeds(self) -> list[Deed]:
        return list(reversed(deeds(self._decisions, self.day.settings)))

    # ------------------------------------------------------------------ the run behind

    def _run(self) -> None:
        quiet_since = time.monotonic()
        while True:
            self._wake.wait(timeout=LOOK_EVERY_S)
            asked = self._wake.is_set()
            self._wake.clear()
            if asked or self._file_size() != self._size:
                self._settle()
                quiet_since = time.monotonic()
            if self._unwritten and (self._stopping or time.monotonic() - quiet_since >= REST_S):
                self._write_out()
            if self._stopping and not self._wake.is_set():
                return

    def _settle(self) -> None:
        with self._lock:
            self._working = True
        size = self._file_size()
        try:
            decisions, _ = read_decisions(self._folder)
            day = self._work(decisions)
            with self._lock:
                self._trouble = ""
                if not self._wake.is_set():  # else it was overtaken, and the next round shows it
                    self._decisions, self._size = decisions, size
                    self._publish(day)
                    self._unwritten = True
                    self._working = False
                    self._version += 1
        except Exception as error:  # the page must go on and say so, whatever a stage raises
            self._size = size  # not again until something more was decided
            self._say_trouble(_told(error, "the day could not be worked through again"))

    def _write_out(self) -> None:
        try:
            decisions = self._decisions
            day = self._write(self.day)
            with self._lock:
                if decisions == self._decisions:
                    self._publish(day)
                    self._unwritten, self._trouble = False, ""
                    self._version += 1
        except Exception as error:  # as above; it is tried again, since what was decided must reach the files
            self._say_trouble(_told(error, "the results could not be written"))
            if self._stopping:
                self._unwritten = False

    def _say_trouble(self, words: str) -> None:
        with self._lock:
            self._trouble, self._working = words[:400], False
            self._version += 1

    def _file_size(self) -> int:
        with contextlib.suppress(OSError):
            return (self._folder / NAME).stat().st_size
        return 0


def _told(error: Exception, what: str) -> str:
    return str(error) if isinstance(error, EpisodeError) else f"{what} ({type(error).__name__}: {error})"
