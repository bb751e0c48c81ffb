"""The person's own templates for the description, read from ``templates/`` in the day folder."""

from __future__ import annotations

from pathlib import Path

from episode.models import Problem

FOLDER = "templates"
NAMES = ("description.txt", "description.md", "short.txt", "comment.txt")
LARGEST_BYTES = 100_000


def read_templates(folder: Path) -> tuple[dict[str, str], tuple[Problem, ...]]:
    """The texts by name, and what could not be read (the built-in one is used in its place)."""
    found: dict[str, str] = {}
    problems: list[Problem] = []
    for name in NAMES:
        path = folder / FOLDER / name
        if not path.is_file():
            continue
        try:
            if path.stat().st_size > LARGEST_BYTES:
                problems.append(_unusable(name, "is larger than 100 kB"))
            else:
                found[name] = path.read_text(encoding="utf-8-sig")
        except UnicodeDecodeError:
            problems.append(_unusable(name, "is not UTF-8 text"))
        except OSError as error:
            problems.append(_unusable(name, f"cannot be read ({error.strerror})"))
    return found, tuple(problems)


def _unusable(name: str, what: str) -> Problem:
    return Problem(
        where=f"{FOLDER}/{name}", what=f"{what}; the built-in one was used", remedy="Put it right, or remove it."
    )
