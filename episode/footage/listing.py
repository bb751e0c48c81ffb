"""What lies in the footage folder."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import NamedTuple

from episode.errors import UnusableInput
from episode.footage.containers import BESIDE, CLIPS, PLAYLISTS, SYSTEM, TRANSCRIPTS, UNREADABLE
from episode.models import Problem


class Listed(NamedTuple):
    """``name`` is the path below the folder with forward slashes; ``sure`` if its ending promises a clip."""

    name: str
    path: Path
    size: int
    modified: float
    sure: bool


class Listing(NamedTuple):
    """Files that may be clips, and files that may be transcripts, both in the order of their names."""

    clips: list[Listed]
    texts: list[Listed]
    problems: list[Problem]


def list_footage(root: Path) -> Listing:
    """List the folder and its sub-folders, without opening or following anything that leads out of it.

    Raises:
        UnusableInput: the folder cannot be read.
    """
    listing = Listing([], [], [])
    try:
        with os.scandir(root):
            pass
    except OSError as error:
        raise UnusableInput(
            f"the footage folder cannot be read ({error.strerror or error})",
            where=str(root),
            remedy="Check that the disk is there and that you may read it.",
        ) from error

    def refuse(error: OSError) -> None:
        where = plain(str(error.filename or root))
        listing.problems.append(
            Problem(
                where=where, what=f"cannot be read ({error.strerror})", remedy="Check the permissions.", level="error"
            )
        )

    for folder, folders, files in os.walk(root, onerror=refuse, followlinks=False):
        here = Path(folder)
        for name in sorted(folders):
            if (here / name).is_symlink():
                _look_at_link(root, here / name, listing)
        folders[:] = sorted(f for f in folders if not _passed_over(f) and not (here / f).is_symlink())
        for name in sorted(files):
            if not _passed_over(name):
                _sort_in(root, here / name, listing)
    listing.clips.sort(key=lambda c: c.name)
    listing.texts.sort(key=lambda t: t.name)
    return listing


def plain(name: str) -> str:
    """``name`` for a message: line breaks, control characters and undecodable bytes are escaped."""
    safe = os.fsencode(name).decode("utf-8", "backslashreplace")
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in safe)


def _passed_over(name: str) -> bool:
    return name.startswith(".") or name.casefold() in SYSTEM


def _sort_in(root: Path, path: Path, listing: Listing) -> None:
    name = os.fsencode(path.relative_to(root).as_posix()).decode("utf-8", "backslashreplace")
    if path.is_symlink():
        _look_at_link(root, path, listing)
        return
    try:
        facts = path.stat()
    except OSError as error:
        listing.problems.append(
            Problem(where=plain(name), what=f"cannot be read ({error.strerror})", remedy="Check the disk.")
        )
        return
    if not stat.S_ISREG(facts.st_mode):  # opening one could wait for ever
        what = "a pipe, socket or device, not a file; left out"
        listing.problems.append(Problem(where=plain(name), what=what, remedy="Put the clip itself here."))
        return
    ending = path.suffix.lower()
    listed = Listed(name, path, facts.st_size, facts.st_mtime, ending in CLIPS)
    if ending in TRANSCRIPTS:
        listing.texts.append(listed)
    elif ending in PLAYLISTS:
        listing.problems.append(
            Problem(
                where=plain(name),
                what="a playlist or script, not a clip; left out",
                remedy="Put the files that it points to into footage/.",
            )
        )
    elif ending in UNREADABLE:
        listing.problems.append(
            Problem(
                where=plain(name),
                what="a raw picture format that needs its maker's software; left out",
                remedy="Export it as MP4, or export its sound as WAV, and put that into footage/.",
                level="error",
            )
        )
    elif ending not in BESIDE:
        listing.clips.append(listed)


def _look_at_link(root: Path, path: Path, listing: Listing) -> None:
    name = plain(path.relative_to(root).as_posix())
    try:
        target = path.resolve(strict=True)
    except (OSError, RuntimeError):
        what = "a link that leads nowhere or back to itself; left out"
    else:
        inside = target.is_relative_to(root.resolve())
        what = (
            "a link to something that is in footage/ already; left out"
            if inside
            else "a link that leads out of footage/; left out"
        )
    listing.problems.append(
        Problem(where=name, what=what, remedy="Put the clip itself here, or make footage/ itself the link.")
    )
