"""The built-in templates laid into a day folder for a person to change."""

from __future__ import annotations

import os
from pathlib import Path

from episode.day.templates import FOLDER, NAMES
from episode.drafting.forms import built_in
from episode.errors import CannotWrite, UnusableInput
from episode.storage import write_text


def lay_out(folder: Path, names: tuple[str, ...] = ()) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """Write the built-in templates ``names`` (all if none) to ``templates/`` in ``folder``, but over none that is there.

    Gives the paths that were written, and those that were left as they are.

    Raises:
        UnusableInput: no such folder, or no such template.
        CannotWrite: one could not be written.
    """
    if not folder.is_dir():
        raise UnusableInput("is not a folder", where=str(folder), remedy="`episode new FOLDER` starts a day folder.")
    unknown = [name for name in names if name not in NAMES]
    if unknown:
        raise UnusableInput("is no form of the description", where=unknown[0], remedy=f"They are {', '.join(NAMES)}.")
    target = folder / FOLDER
    if os.path.lexists(target) and not target.is_dir():
        raise UnusableInput("is a file, not a folder", where=str(target), remedy="Move it out of the way.")
    try:
        target.mkdir(exist_ok=True)
    except OSError as error:
        raise CannotWrite(f"cannot be made ({error.strerror})", where=str(target)) from error
    laid: list[Path] = []
    kept: list[Path] = []
    for name in dict.fromkeys(names or NAMES):
        path = target / name
        if os.path.lexists(path):  # a link that leads nowhere is the person's too
            kept.append(path)
        else:
            write_text(path, built_in(name))
            laid.append(path)
    return tuple(laid), tuple(kept)
