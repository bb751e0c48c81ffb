"""A run that would do nothing new: told from what goes in and what came out, without doing it.

Under the cache folder ``runs/3f/3f9c….json`` keeps, for everything that a run was made from, what it told and the
sizes and times of the files that it left. The name is the SHA-256 of: every file in the day folder but ``out/`` (its
path in the folder, size, time, and its first, middle and last 64 KiB; with the time of the last change of any kind,
which no copying program sets back, where that is not all of it), other files named on the command line, the finished
film in force, the options, the program's own files, the installed packages and their versions. A folder that was moved
is the same; one that was touched is not, and is simply run again.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import stat
import sys
import sysconfig
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pydantic import BaseModel

from episode.footage.fingerprint import sample_key
from episode.models import Problem

if TYPE_CHECKING:
    from episode.make import Options

MOST_FILES = 50_000
"""A folder with more is not looked through; it is run."""


class Told(BaseModel):
    """What a run says to the person; ``summary`` is that of ``--json``, its ``out`` is the caller's."""

    assumed: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    lines: tuple[str, ...] = ()
    summary: dict[str, Any] = {}
    failed: bool = False
    """Some input could not be used."""
    holds_up: bool = False
    """Something needs a person before publishing."""


class _Run(BaseModel):
    format: Literal["episode-run/1"] = "episode-run/1"
    told: Told
    files: dict[str, tuple[int, int]]


def run_key(folder: Path, options: Options, out: Path) -> str | None:
    """What tells a run's input from any other, or ``None`` where it cannot be told."""
    digest = hashlib.sha256()
    try:
        for line in (*_program(), *_options(options), *_day(folder, out), *_film(out)):
            digest.update(line.encode("utf-8", "surrogateescape") + b"\0")
    except (OSError, _TooMany):
        return None
    return digest.hexdigest()


def told_before(cache: Path, key: str | None, out: Path) -> Told | None:
    """What the run ``key`` told, if it was done and its files in ``out`` are as it left them."""
    from episode.speech.heard import kept

    run = kept(_path(cache, key), _Run) if key else None
    if run is None or not run.files:
        return None
    try:
        return run.told if run.files == _left(out) else None
    except (OSError, _TooMany):
        return None


def remember(cache: Path, key: str | None, out: Path, told: Told) -> None:
    """Keep what a run told and left. Where it cannot be kept the next run is simply run."""
    from episode.errors import CannotWrite
    from episode.speech.heard import keep

    if key is None or told.failed:  # what failed may go well the next time
        return
    with contextlib.suppress(OSError, CannotWrite, _TooMany):
        keep(_path(cache, key), _Run(told=told, files=_left(out)))


class _TooMany(Exception):
    pass


def _path(cache: Path, key: str | None) -> Path:
    return cache / "runs" / (key or "")[:2] / f"{key}.json"


def _left(out: Path) -> dict[str, tuple[int, int]]:
    """Size and time of every file in ``out``."""
    return {name: (state.st_size, state.st_mtime_ns) for name, _, state in _files(out, out / ".none")}


def _day(folder: Path, out: Path) -> Iterator[str]:
    for name, path, state in _files(folder, out):
        yield f"{name} {state.st_mode} {state.st_size} {state.st_mtime_ns} {_sampled(path, state)}"


def _options(options: Options) -> Iterator[str]:
    for field in fields(options):
        if field.name not in {"out", "cache", "fetch"}:
            yield f"{field.name}={getattr(options, field.name)!r}"
    weights = Path(options.model).expanduser() if options.model else None
    for path in (*options.vocabulary, *([weights] if weights and weights.is_dir() else [])):
        for name, inside, state in [("", path, path.stat())] if path.is_file() else _files(path, path):
            yield f"{name} {state.st_size} {state.st_mtime_ns} {_sampled(inside, state)}"


def _film(out: Path) -> Iterator[str]:
    from episode.cutting.kept import read_kept

    kept = read_kept(out)
    if kept is None or not kept.in_force:
        return
    for told in (kept.cut, kept.film):
        path = Path(told) if told else None
        if path is not None and path.is_file():
            state = path.stat()
            yield f"film {told} {state.st_size} {state.st_mtime_ns} {_sampled(path, state)}"
        else:
            yield f"film {told} is not there"


def _program() -> Iterator[str]:
    from episode.lexicon.resources import vocab_root

    yield sys.version
    yield from sorted(p.name for p in Path(sysconfig.get_path("purelib")).iterdir() if p.suffix == ".dist-info")
    yield str(shutil.which("ffmpeg"))
    for root in (Path(__file__).parent, Path(str(vocab_root()))):
        for name, _, state in _files(root, root / "__pycache__"):
            yield f"{name} {state.st_size} {state.st_mtime_ns}"


def _files(folder: Path, leave: Path) -> Iterator[tuple[str, Path, os.stat_result]]:
    """Every file below ``folder``, in order of names: its path there, whole, and its state. Hidden ones and ``leave``
    are passed over.

    Raises:
        OSError: one cannot be looked at.
        _TooMany: there are more than `MOST_FILES`.
    """
    left = leave.resolve()
    open_, count = [(folder, "")], 0
    while open_:
        here, prefix = open_.pop()
        if prefix and here.resolve() == left:
            continue
        for entry in sorted(os.scandir(here), key=lambda entry: entry.name):
            count += 1
            if count > MOST_FILES:
                raise _TooMany
            name = f"{prefix}{entry.name}"
            if entry.name.startswith(".") or entry.name == "__pycache__":
                continue
            if entry.is_dir(follow_symlinks=False):
                open_.append((Path(entry.path), f"{name}/"))
            elif entry.is_symlink():
                path = Path(entry.path)
                if path.is_dir():
                    raise _TooMany  # what is behind it may be without end
                state = path.stat() if path.exists() else path.lstat()
                yield f"{name} -> {path.readlink()}", path, state
            else:
                yield name, Path(entry.path), entry.stat()


def _sampled(path: Path, state: os.stat_result) -> str:
    if not stat.S_ISREG(state.st_mode):
        return "-"
    try:
        return sample_key(path)
    except PermissionError:
        return "may not be read"
