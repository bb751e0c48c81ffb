"""The traced film, kept beside the results, so that it is not traced again and later runs know of it."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, ValidationError

from episode.cutting.pieces import Traced
from episode.errors import UnusableInput
from episode.models import Clip
from episode.storage import write_json

NAME = "cut/trace.json"
METHOD = 1
"""Raised whenever the same film and clips would be traced otherwise."""
_LARGEST_BYTES = 50_000_000


class Kept(BaseModel):
    """``cut/trace.json``: where the film is, what tells it and the clips from others, and what was traced.

    ``in_force`` says that the chapters and the description in ``out/`` are the film's. ``film`` is the finished
    film, if the trace is of an editor's file and the film was given too. Paths are absolute.
    """

    model_config = ConfigDict(frozen=True, extra="ignore")

    format: Literal["episode.trace/1"] = "episode.trace/1"
    method: int = METHOD
    cut: str
    key: str
    film: str | None = None
    film_key: str | None = None
    clips: dict[str, str]
    """Each clip's key by its name."""
    in_force: bool = True
    traced: Traced


def read_kept(out: Path) -> Kept | None:
    """What was kept in ``out``, or nothing: a file that is damaged or of another version counts as absent."""
    path = out / NAME
    with contextlib.suppress(OSError, ValidationError, ValueError):
        if path.stat().st_size <= _LARGEST_BYTES:
            return Kept.model_validate_json(path.read_bytes())
    return None


def write_kept(out: Path, kept: Kept) -> None:
    """Write ``kept`` whole or not at all.

    Raises:
        CannotWrite: it could not be written.
    """
    write_json(out / NAME, kept.model_dump(mode="json"))


def key_of(path: Path) -> str:
    """What tells this file from others.

    Raises:
        UnusableInput: it cannot be read.
    """
    from episode.footage.fingerprint import file_key

    try:
        return file_key(path)
    except OSError as error:
        raise UnusableInput(
            f"cannot be read ({error.strerror or error})", where=str(path), remedy="Check the path and try again."
        ) from error


def clip_keys(clips: Sequence[Clip]) -> dict[str, str]:
    """Each clip's key by its name; a clip that cannot be read has an empty one."""
    found = {}
    for clip in clips:
        try:
            found[clip.name] = key_of(clip.path)
        except UnusableInput:
            found[clip.name] = ""
    return found
