"""What every command does at its door: errors become messages and exit statuses."""

from __future__ import annotations

import errno
import functools
import json
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, ParamSpec

import typer

from episode.errors import EpisodeError, Exit

if TYPE_CHECKING:
    from episode.models import Problem

P = ParamSpec("P")


def door(command: Callable[P, Exit | None]) -> Callable[P, None]:
    """Run ``command``; print what a person must know of an error to standard error and exit with its status."""

    @functools.wraps(command)
    def through(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            status = command(*args, **kwargs) or Exit.DONE
        except EpisodeError as error:
            say(f"episode: {error}")
            status = error.status
        except KeyboardInterrupt:
            say("\nStopped. What was finished is kept; run the same command again to go on.")
            status = Exit.INTERRUPTED
        except BrokenPipeError:
            sys.stderr.close()
            status = Exit.INTERRUPTED
        except OSError as error:
            say(f"episode: {_phrased(error)}")
            status = Exit.PART_FAILED
        raise typer.Exit(int(status))

    return through


def _phrased(error: OSError) -> EpisodeError:
    """What the system would not do, where no room knew better: mostly a full disk or a file that is gone."""
    full = error.errno in {errno.ENOSPC, errno.EDQUOT}
    return EpisodeError(
        f"the system refused to go on ({error.strerror or error})",
        where=str(error.filename or ("the disk, or the one for temporary files" if full else "")),
        remedy=("Free some space" if full else "Put that right")
        + ", then run the same command again: what was finished is kept.",
    )


def say(text: str = "") -> None:
    """A line for the person, on standard error, whatever characters their terminal can show."""
    encoding = getattr(sys.stderr, "encoding", None) or "utf-8"
    typer.echo(text.encode(encoding, errors="replace").decode(encoding), err=True)


def print_json(value: Any) -> None:
    """A result on standard output."""
    sys.stdout.buffer.write((json.dumps(value, ensure_ascii=False, indent=1) + "\n").encode("utf-8", "replace"))
    sys.stdout.buffer.flush()


def report(problems: tuple[Problem, ...]) -> None:
    """Every problem once, the gravest first, as: sign, where, what, and on the next line what to do."""
    order = {"error": 0, "warning": 1, "note": 2}
    signs = {"error": "cannot use", "warning": "look at", "note": "note"}
    for problem in sorted(dict.fromkeys(problems), key=lambda p: order[p.level]):
        say(f"  {signs[problem.level]}: {one_line(problem.where)}: {one_line(problem.what)}")
        if problem.remedy:
            say(f"      {one_line(problem.remedy)}")


def one_line(text: str) -> str:
    """``text`` without line ends or control characters, which file names may hold."""
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)
