"""``decisions.jsonl``: what the person decided, one line an action, read back on every run."""

from __future__ import annotations

import hashlib
import io
import json
import stat
from pathlib import Path

from pydantic import ValidationError

from episode.day.actions import ACTIONS, vet
from episode.errors import UnusableInput
from episode.models import Decision, Problem

NAME = "decisions.jsonl"
LARGEST_BYTES = 50_000_000
MOST_LINES = 100_000
MOST_TOLD = 100
"""Lines that cannot be read and are told of one by one."""


def read_decisions(folder: Path) -> tuple[tuple[Decision, ...], tuple[Problem, ...]]:
    """Every decision of the day folder in the order they were made, and the lines that could not be read.

    The file is never changed here: a line that a crash cut short, or that a newer version wrote, stays in it
    and is reported with its number. A line without an ``id`` is given one of its number and content.

    Raises:
        UnusableInput: the file is unreadable, no plain file, or beyond 50 MB or ``MOST_LINES`` lines.
    """
    path = folder / NAME
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise UnusableInput("is no plain file", where=NAME, remedy="Move it away; decisions are a text file.")
        if found.st_size > LARGEST_BYTES:
            raise UnusableInput(
                "is larger than 50 MB", where=NAME, remedy="Something else wrote it; move it away and look."
            )
        data = path.read_bytes()
    except FileNotFoundError:
        return (), ()
    except OSError as error:
        raise UnusableInput(
            f"cannot be read ({error.strerror})", where=NAME, remedy="Check its permissions."
        ) from error
    return parse(data)


def parse(data: bytes) -> tuple[tuple[Decision, ...], tuple[Problem, ...]]:
    """The decisions in a file's bytes, and what is wrong with the other lines (see ``read_decisions``).

    Raises:
        UnusableInput: more than ``MOST_LINES`` lines.
    """
    decisions: list[Decision] = []
    problems: list[Problem] = []
    untold = 0
    for number, line in enumerate(io.BytesIO(data), start=1):
        if number > MOST_LINES:
            raise UnusableInput(
                f"has more than {MOST_LINES:,} lines",
                where=NAME,
                remedy="Something else wrote it; move it away and look.",
            )
        if not line.strip():
            continue
        decision, problem = _read(line.removesuffix(b"\n"), number)
        if decision is not None:
            decisions.append(decision)
        if problem is not None and len(problems) < MOST_TOLD:
            problems.append(problem)
        elif problem is not None:
            untold += 1
    if untold:
        problems.append(Problem(where=NAME, what=f"{untold:,} more lines like these", remedy=problems[-1].remedy))
    return tuple(decisions), tuple(problems)


def _read(line: bytes, number: int) -> tuple[Decision | None, Problem | None]:
    try:
        found = _object(line)
    except (ValueError, RecursionError):
        return None, _left_alone(number, "is not whole JSON")
    action = found.get("action")
    if isinstance(action, str) and action not in ACTIONS:
        return None, _left_alone(number, f"asks for “{action[:40]}”, which this version does not know")
    try:
        decision = Decision.model_validate({**found, "line": number})
        vet(decision)
    except UnusableInput as error:
        return None, _left_alone(number, f"is no “{action}” that can apply: {error.what}")
    except (ValidationError, ValueError, OverflowError):
        return None, _left_alone(number, "is not a decision this version can read")
    if not decision.id:
        name = f"line:{number}:{hashlib.sha256(line.strip()).hexdigest()[:8]}"
        decision = decision.model_copy(update={"id": name})
    unknown = sorted(decision.model_extra or {})
    return decision, _unknown_fields(number, unknown) if unknown else None


def _object(line: bytes) -> dict[str, object]:
    value = json.loads(line)
    if not isinstance(value, dict):
        raise ValueError("not an object")  # noqa: TRY004 - told apart from JSON errors nowhere
    return value


def _left_alone(number: int, what: str) -> Problem:
    return Problem(
        where=f"{NAME}, line {number}",
        what=what + "; it was left alone and not applied",
        remedy="If the machine stopped while it was written, decide that point again.",
    )


def _unknown_fields(number: int, names: list[str]) -> Problem:
    told = ", ".join(f"`{name[:40]}`" for name in names[:5])
    return Problem(
        where=f"{NAME}, line {number}",
        what=f"carries {told}, which this version does not know; the rest of the line was applied",
        remedy="Nothing was lost; a newer version may use it.",
        level="note",
    )
