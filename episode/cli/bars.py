"""Progress bars on a terminal, plain lines elsewhere."""

from __future__ import annotations

import time
from typing import Any

from episode.cli.door import one_line, say


class Bars:
    """Draws ``Progress`` on standard error: a bar a clip, with an estimate of what is left.

    Where standard error is no terminal, one line is printed as each piece of work ends.
    """

    def __init__(self) -> None:
        self._live: Any = None
        self._task: Any = None
        self._what = ""
        self._began = 0.0
        self._total = 0.0

    def begin(self, what: str, total: float) -> None:
        """A bar of ``total`` seconds of footage appears."""
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

        self._what, self._total, self._began = one_line(what), total, time.monotonic()
        console = Console(stderr=True)
        if not console.is_terminal or total <= 0:
            return
        name = TextColumn("{task.description}", markup=False)
        columns = (name, BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
        self._live = Progress(*columns, console=console, transient=True)
        self._live.start()
        self._task = self._live.add_task(self._what, total=total)

    def advance(self, amount: float) -> None:
        """The bar grows."""
        if self._live is not None:
            self._live.advance(self._task, amount)

    def end(self, note: str = "") -> None:
        """The bar goes, a line stays."""
        if self._live is not None:
            self._live.stop()
            self._live = None
        if self._what and self._total > 0:
            took = time.monotonic() - self._began
            say(f"  {self._what}: {one_line(note) or 'done'} ({took:.1f} s)")
        self._what = ""

    def say(self, text: str) -> None:
        """A line above the bar."""
        if self._live is not None:
            self._live.console.print(one_line(text), markup=False, highlight=False)
        else:
            say(f"  {one_line(text)}")
