"""Adding a line to ``decisions.jsonl``: whole or not at all, whoever else is writing."""

from __future__ import annotations

import datetime as dt
import errno
import json
import os
import stat
import uuid
from pathlib import Path

from episode.day.actions import vet
from episode.day.decisions import LARGEST_BYTES, NAME, parse
from episode.day.undoing import current
from episode.errors import CannotWrite, UnusableInput
from episode.models import Decision

LOCK = ".decisions.lock"
WAIT_S = 10.0


def add_decision(folder: Path, decision: Decision) -> Decision:
    """Add ``decision`` as the last line of the day's decisions, on the disk before this returns.

    ``id`` (32 hexadecimal digits) and ``at`` (now, UTC) are filled in where they are empty. A decision whose
    ``id`` stands in the file already is not added again, so that a request may safely be repeated. The file is
    only ever added to: a line that a crash cut short stays, ended, and spoils nothing but itself.

    Returns:
        The decision as it stands in the file.

    Raises:
        UnusableInput: it could never apply (see ``episode.day.actions``), or undoes what is not in force.
        CannotWrite: the line could not be added; those before it are as they were.
    """
    vet(decision)
    now = dt.datetime.now(tz=dt.UTC).isoformat(timespec="milliseconds")
    decision = decision.model_copy(update={"id": decision.id or uuid.uuid4().hex, "at": decision.at or now})
    path = _file(folder / NAME)
    from filelock import FileLock, Timeout

    try:
        with FileLock(str(path.parent / LOCK), timeout=WAIT_S):
            return _append(path, decision)
    except Timeout:
        raise CannotWrite(
            f"the decision could not be added: another program has held the file for {WAIT_S:.0f} s",
            where=NAME,
            remedy="Close the other program, and decide again.",
        ) from None
    except OSError as error:
        raise CannotWrite(
            f"the decision could not be added ({error.strerror or error})",
            where=NAME,
            remedy="Make room, or make the day folder writable, and decide again.",
        ) from error


def _file(path: Path) -> Path:
    """The file itself. A link is followed to a text file of lines, and refused where it leads elsewhere."""
    if not path.is_symlink():
        return path
    target = path.resolve()
    if target.suffix != ".jsonl" or not target.is_file():
        raise CannotWrite(
            f"is a link to {target}, which is no file of decisions",
            where=NAME,
            remedy="Put the file itself there, or link to a .jsonl file that exists.",
        )
    return target


def _append(path: Path, decision: Decision) -> Decision:
    fresh = not path.exists()
    flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)
    handle = os.open(path, flags, 0o644)
    try:
        found = os.fstat(handle)
        if not stat.S_ISREG(found.st_mode):
            raise OSError(errno.EINVAL, "it is no plain file")
        if found.st_size > LARGEST_BYTES:
            raise OSError(errno.EFBIG, "it is larger than 50 MB")
        if fresh and os.name != "nt":
            _flush_folder(path.parent)  # before the line: a decision that is on the disk is never called lost
        before = _all(handle, found.st_size)
        known = _known(before, decision)
        if known is not None:
            return known
        whole = not before or before.endswith(b"\n")
        _write(handle, (b"" if whole else b"\n") + _line(decision), found.st_size)
    finally:
        os.close(handle)
    return decision.model_copy(update={"line": before.count(b"\n") + (1 if whole else 2)})


def _all(handle: int, size: int) -> bytes:
    parts = []
    os.lseek(handle, 0, os.SEEK_SET)
    while size > 0 and (part := os.read(handle, size)):
        parts.append(part)
        size -= len(part)
    return b"".join(parts)


def _known(before: bytes, decision: Decision) -> Decision | None:
    """The decision where it stands in the file already; an ``undo`` must name a line in force."""
    if decision.action != "undo" and decision.id.encode() not in before:
        return None
    decisions = parse(before)[0]
    again = next((d for d in decisions if d.id == decision.id), None)
    if again is not None:
        return again
    if decision.action == "undo":
        standing = {d.id for d in current(decisions, undos=True)}
        if decision.value not in standing:
            gone = any(d.id == decision.value for d in decisions)
            raise UnusableInput(
                "that was undone already" if gone else f"there is no line with the id {str(decision.value)[:40]!r}",
                where="decision “undo”",
                remedy="Look at the day as it is now; nothing was changed.",
            )
    return None


def _line(decision: Decision) -> bytes:
    told = decision.model_dump(exclude_none=True, exclude={"line"})
    if decision.value is None and decision.action in {"pair", "reference", "reword", "add"}:
        told["value"] = None  # null says something here
    try:
        return (json.dumps(told, ensure_ascii=False, allow_nan=False) + "\n").encode("utf-8")
    except UnicodeEncodeError:  # half a surrogate pair: written as its escape
        return (json.dumps(told, allow_nan=False) + "\n").encode("ascii")


def _write(handle: int, data: bytes, length: int) -> None:
    """Write all of ``data`` and flush it to the disk, or leave the file at its old ``length``."""
    try:
        sent = 0
        while sent < len(data):
            sent += os.write(handle, data[sent:])
        os.fsync(handle)
    except OSError:
        os.ftruncate(handle, length)
        os.fsync(handle)
        raise


def _flush_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
