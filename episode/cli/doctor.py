"""``doctor``: what is installed, which model, what is missing."""

from __future__ import annotations

import platform
import shutil
import sys
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from episode import __version__
from episode.cli.door import door, print_json, report
from episode.errors import EpisodeError, Exit

if TYPE_CHECKING:
    from episode.models import Problem

_PACKAGES = ("faster-whisper", "ctranslate2", "av", "ffmpeg-python", "rapidfuzz", "opentimelineio", "rdflib")
_LITTLE_SPACE = 1 << 30


def add(app: typer.Typer) -> None:
    """Put ``doctor`` on the command line."""
    app.command("doctor")(doctor)


@door
def doctor(
    json: Annotated[bool, typer.Option("--json", help="Print the result on standard output as JSON.")] = False,
) -> Exit:
    """Say what is installed, which FFmpeg and which recogniser are used, where the cache is, and what is missing.

    The weights are read whole and compared with their published checksums. Exit status 3 if something is wrong.
    """
    problems: list[Problem] = []
    facts = {
        "episode": __version__,
        "python": f"{platform.python_version()} ({sys.executable})",
        "ffmpeg": _ffmpeg(problems),
        "recogniser": _models(problems),
        "graphics card": _cuda(),
        "cache": _cache(problems),
        "vocabulary": _vocabulary(problems),
        "record": _record(problems),
        "packages": ", ".join(f"{name} {_version(name, problems)}" for name in _PACKAGES),
    }
    if json:
        found = [problem.model_dump() for problem in problems]
        print_json({"format": "episode.doctor/1", **facts, "problems": found})
    else:
        for name, value in facts.items():
            typer.echo(f"{name:14} {value}")
    report(tuple(problems))
    return Exit.PART_FAILED if any(p.level == "error" for p in problems) else Exit.DONE


def _ffmpeg(problems: list[Problem]) -> str:
    from episode.footage.tools import ffmpeg

    try:
        tool = ffmpeg()
    except EpisodeError as error:
        problems.append(_problem(error, "ffmpeg"))
        return "none"
    return f"{tool.version}, {tool.origin} ({tool.path})"


def _models(problems: list[Problem]) -> str:
    from episode.speech.weights import PUBLISHED, verify

    sound = []
    for name in PUBLISHED:
        wrong = verify(name)
        problems += wrong
        sound.append(f"{name} {'is not usable' if wrong else 'is whole, checksum as published'}")
    return "; ".join(sound)


def _cuda() -> str:
    import ctranslate2

    count = ctranslate2.get_cuda_device_count()
    return f"{count} usable with --device cuda" if count else "none; the processor does the work"


def _cache(problems: list[Problem]) -> str:
    from episode.speech.weights import cache_folder

    folder = cache_folder()
    there = next((path for path in (folder, *folder.parents) if path.is_dir()), Path.cwd())
    free = shutil.disk_usage(there).free
    if free < _LITTLE_SPACE:
        where = str(there)
        from episode.models import Problem

        problems.append(Problem(where=where, what=f"only {free / 1e6:.0f} MB free", remedy="Make room for results."))
    used = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file()) if folder.is_dir() else 0
    return f"{folder} ({used / 1e6:.0f} MB used, {free / 1e9:.1f} GB free)"


def _vocabulary(problems: list[Problem]) -> str:
    from episode.lexicon.packs import load_lexicon, pack_names

    try:
        lexicon = load_lexicon(None, ())
    except EpisodeError as error:
        problems.append(_problem(error, "vocabulary"))
        return "not readable"
    return f"{len(lexicon.terms)} terms in the packs {', '.join(pack_names())}"


def _record(problems: list[Problem]) -> str:
    from episode.models import Grade
    from episode.record.load import load_record

    try:
        facts = load_record().facts
    except EpisodeError as error:
        problems.append(_problem(error, "record"))
        return "not readable"
    read = sum(1 for fact in facts if fact.grade != Grade.MEMORY)
    return f"{len(facts)} facts, {read} of them read in a source"


def _version(name: str, problems: list[Problem]) -> str:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        from episode.models import Problem

        problems.append(Problem(where=name, what="is not installed", remedy="Reinstall episode.", level="error"))
        return "missing"


def _problem(error: EpisodeError, where: str) -> Problem:
    from episode.models import Problem

    return Problem(where=error.where or where, what=error.what, remedy=error.remedy, level="error")
