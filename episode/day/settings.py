"""``episode.toml``: what the person says about the day, and what is assumed where they do not."""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import ValidationError

from episode.errors import UnusableInput
from episode.models import Problem, Settings

NAME = "episode.toml"
_LARGEST_BYTES = 100_000
_DEEPEST = 100
_OWN = {"assumed", "problems"}
_FOLDER_DATE = re.compile(r"(?<!\d)((?:19|20)\d\d)[-_.]?(\d\d)[-_.]?(\d\d)(?!\d)")


def read_settings(folder: Path) -> Settings:
    """The day's settings: ``folder/episode.toml`` where there is one, else what the folder's name tells.

    Keys that nobody knows are kept out and reported in ``problems``; what had to be assumed is in ``assumed``.

    Raises:
        UnusableInput: the file is not TOML, too large, or a known key holds something of the wrong kind.
    """
    path = folder / NAME
    problems: list[Problem] = []
    values: dict[str, Any] = {}
    if path.exists():
        values = _parse(path)
        known = {name for name in Settings.model_fields if name not in _OWN}
        for key in [key for key in values if key not in known]:
            problems.append(_unknown(key, known))
            del values[key]
    try:
        settings = Settings.model_validate({**values, "problems": tuple(problems)})
    except ValidationError as error:
        raise _invalid(error) from error
    check_zone(settings.time_zone)
    return _assume(settings, folder, given=set(values), has_file=path.exists())


def _parse(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > _LARGEST_BYTES:
            raise UnusableInput(
                f"is larger than {_LARGEST_BYTES} bytes: not a settings file", where=NAME, remedy="Check the file."
            )
        text = path.read_bytes().decode("utf-8-sig")
        if _deep_key(text):
            raise UnusableInput(
                f"has a key of more than {_DEEPEST} parts", where=NAME, remedy="Keys stand alone: title, date, place."
            )
        return tomllib.loads(text)
    except UnicodeDecodeError as error:
        raise UnusableInput(
            f"is not UTF-8 text (byte {error.start})", where=NAME, remedy="Save it as UTF-8 in your text editor."
        ) from error
    except RecursionError as error:
        raise UnusableInput(
            "is nested too deep", where=NAME, remedy="Keys stand alone, their values are words, numbers or short lists."
        ) from error
    except ValueError as error:  # TOMLDecodeError among them; numbers of thousands of digits are another
        raise UnusableInput(
            f"is not valid TOML: {error}",
            where=NAME,
            remedy='Text goes in quotes: title = "A morning at the sands". `episode new` writes a file to start from.',
        ) from error
    except OSError as error:
        raise UnusableInput(
            f"cannot be read ({error.strerror})", where=NAME, remedy="Check its permissions."
        ) from error


def _deep_key(text: str) -> bool:
    """Whether a line has a dotted key so long that a reader would build a table in a table for each of its parts."""
    run = 0
    for part in text.split("."):
        run = run + 1 if part.strip() and "\n" not in part and "=" not in part else 0
        if run > _DEEPEST:
            return True
    return False


def _unknown(key: str, known: set[str]) -> Problem:
    from rapidfuzz import process

    near = process.extractOne(key, sorted(known), score_cutoff=70)
    remedy = f"Did you mean `{near[0]}`?" if near else "Known keys: " + ", ".join(sorted(known)) + "."
    return Problem(where=NAME, what=f"the key `{key}` is not known and was ignored", remedy=remedy)


def _invalid(error: ValidationError) -> UnusableInput:
    first = error.errors()[0]
    key = ".".join(str(part) for part in first["loc"])
    given = repr(first.get("input"))
    given = given if len(given) <= 60 else given[:57] + "..."
    return UnusableInput(
        f"`{key}` cannot be {given}: {first['msg'].lower()}",
        where=NAME,
        remedy="`episode schema settings` prints every key and what it takes.",
    )


def check_zone(name: str) -> None:
    """Raise UnusableInput where ``name`` is no zone of the IANA database."""
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise UnusableInput(
            f"`time_zone` cannot be {name!r}: no such zone",
            where=NAME,
            remedy='Use a name of the IANA time zone database, such as "Europe/London" or "Europe/Amsterdam".',
        ) from error


def _assume(settings: Settings, folder: Path, *, given: set[str], has_file: bool) -> Settings:
    changes: dict[str, Any] = {}
    assumed: list[str] = []
    if not has_file:
        assumed.append(f"There is no {NAME}, so everything in it is assumed.")
    if settings.date is None:
        found = folder_date(folder.resolve().name)
        if found:
            changes["date"] = found
            assumed.append(f"The date is {found.isoformat()}, read from the folder's name.")
    if "time_zone" not in given:
        assumed.append("Clocks are taken to be UTC (`time_zone` is not set).")
    if not settings.title:
        changes["title"] = folder_title(folder.resolve().name)
        assumed.append(f"The title is {changes['title']!r}, from the folder's name.")
    changes["assumed"] = tuple(assumed)
    return settings.model_copy(update=changes)


def folder_date(name: str) -> dt.date | None:
    """The date in a folder's name, or None."""
    match = _FOLDER_DATE.search(name)
    if not match:
        return None
    try:
        return dt.date(int(match[1]), int(match[2]), int(match[3]))
    except ValueError:
        return None


def folder_title(name: str) -> str:
    """A folder's name without its date, as words."""
    words = _FOLDER_DATE.sub("", name).replace("_", " ").replace("-", " ").split()
    return " ".join(words).capitalize() or "Untitled day"
