"""``decisions.jsonl``: what the person decided, one line an action, read back on every run."""

from __future__ import annotations

import json
import os
from pathlib import Path

from pydantic import ValidationError

from episode.errors import CannotWrite, UnusableInput
from episode.models import Decision, Problem

NAME = "decisions.jsonl"
_LARGEST_BYTES = 50_000_000


def read_decisions(folder: Path) -> tuple[tuple[Decision, ...], tuple[Problem, ...]]:
    """Every decision of the day folder in the order they were made, and the lines that could not be read.

    The file is never changed here: a line that a crash cut short, or that a newer version wrote, stays in it
    and is reported with its number.

    Raises:
        UnusableInput: the file is unreadable or beyond 50 MB.
    """
    path = folder / NAME
    if not path.exists():
        return (), ()
    try:
        if path.stat().st_size > _LARGEST_BYTES:
            raise UnusableInput(
                "is larger than 50 MB", where=NAME, remedy="Something else wrote it; move it away and look."
            )
        lines = path.read_bytes().split(b"\n")
    except OSError as error:
        raise UnusableInput(
            f"cannot be read ({error.strerror})", where=NAME, remedy="Check its permissions."
        ) from error
    decisions: list[Decision] = []
    problems: list[Problem] = []
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        try:
            decisions.append(Decision.model_validate({**_object(line), "line": number}))
        except (ValueError, ValidationError, RecursionError) as error:
            what = (
                "is not a decision this version can read" if isinstance(error, ValidationError) else "is not whole JSON"
            )
            problems.append(
                Problem(
                    where=f"{NAME}, line {number}",
                    what=what + "; it was left alone and not applied",
                    remedy="If the machine stopped while it was written, decide that point again.",
                )
            )
    return tuple(decisions), tuple(problems)


def decide(folder: Path, decision: Decision) -> None:
    """Add ``decision`` as the last line of the day's decisions, on the disk before this returns.

    A line that a crash cut short stays, ended, so that it spoils nothing but itself.

    Raises:
        CannotWrite: the line could not be added; those before it are as they were.
    """
    path = folder / NAME
    line = json.dumps(decision.model_dump(exclude_none=True, exclude={"line"}), ensure_ascii=False) + "\n"
    try:
        with path.open("a+b") as file:
            if file.tell() > 0:
                file.seek(-1, os.SEEK_END)
                if file.read(1) != b"\n":
                    line = "\n" + line
            file.write(line.encode("utf-8", errors="surrogateescape"))
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise CannotWrite(
            f"the decision could not be added ({error.strerror})",
            where=NAME,
            remedy="Make room, or make the day folder writable, and decide again.",
        ) from error


def _object(line: bytes) -> dict[str, object]:
    value = json.loads(line)
    if not isinstance(value, dict):
        raise ValueError("not an object")  # noqa: TRY004 - told apart from JSON errors nowhere
    return value
