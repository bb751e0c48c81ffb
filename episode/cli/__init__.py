"""The command line: nothing but doors. Results go to files, talk to standard error, ``--json`` to standard output."""

from __future__ import annotations


def run() -> None:
    """Entry point of the ``episode`` command."""
    from episode.cli.app import app

    app()
