"""``python -m episode``."""

from episode.cli import run

run()
