"""What FFmpeg complained of, in words that can be shown."""

from __future__ import annotations

import re

LONGEST = 200
_OF_PICTURES = re.compile(r"max pixel count|Last message repeated")
"""Picture is looked into when a file is opened, and complained about, whether or not it is wanted."""
_ADDRESS = re.compile(r" @ 0x[0-9a-f]+")
"""Where in memory a part of FFmpeg stood: another place on every run."""


def complaints(said: bytes, *, last: int = 1) -> str:
    """The ``last`` lines of what FFmpeg wrote to standard error, the same on every run; empty for none."""
    lines = said.decode("utf-8", "replace").strip().splitlines()
    lines = [_ADDRESS.sub("", line) for line in lines if not _OF_PICTURES.search(line)]
    return " / ".join("".join(c for c in line if c.isprintable())[:LONGEST] for line in lines[-last:])
