"""The command line: nothing but doors. Results go to files, talk to standard error, ``--json`` to standard output."""

from __future__ import annotations

import os


def run() -> None:
    """Entry point of the ``episode`` command."""
    # Products of matrices here are too small to be worth sharing out: the second thread of the library under numpy only
    # waits, which costs a whole processor. What hears has threads of its own.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from episode.cli.app import app

    app()
