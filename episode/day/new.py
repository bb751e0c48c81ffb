"""Starting a day folder."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

from episode.day.settings import NAME, check_zone, folder_date, folder_title
from episode.errors import CannotWrite, UnusableInput
from episode.storage import write_text

LOG_HEADINGS = "find,time,object,material,period,from,to,maker,place,grid,photo,notes\n"

_TEMPLATE = """\
# About this day. Everything may be left out; `episode make` says what it assumed.
title = {title}
{date}
time_zone = {zone}    # of the find log; cameras may be wrong, that is worked out
place = {place}    # as coarse as you would say it in public
presenter = ""

# Vocabulary: built-in packs (all, unless you list some) and your own files.
# packs = ["ceramics", "glass"]
# vocabulary = ["my-terms.csv"]

# Whether transcript.vtt and .json take the trade's spelling where a name was heard as other words ("cod
# bottle"), and how sure (0 to 1) it must be; every place is marked and keeps the words heard.
# trade_spelling = false
# trade_spelling_from = 0.8

# How "early", "circa" and the like become years, and whose law cautions follow.
convention = "historic-england"
jurisdiction = "england"

# Privacy: figures of a grid reference that may be shown (4 is a 1 km square, 0 withholds it),
# and names of places that are never written anywhere.
grid_figures = 4
private_places = []

# The description: longest length (in bytes, as the strictest host counts) of the whole and of the short form, what to do with claims that have no reference yet
# ("hedge" or "leave out"), and thanks or licences to print.
description_limit = 5000
short_limit = 300
unverified = "hedge"
credits = []

# The selects (a start for the edit): how long they may be in all, in minutes; the least sure finds go first.
# 0 keeps every find.
# selects_minutes = 30

# Chapters: the most that are wanted (0: one for each find worth it), and what a find's title says: {{name}},
# {{maker}}, {{date}} and {{number}} (its number in your log). What the record does not support is left out with
# the words before it.
chapter_limit = 0
title_style = "{{name}}, {{maker}}, {{date}}"

# [disclosures]
# sponsor = ""
# gifted = []
# permit = ""
# permit_number = ""

# [[links]]    # what "link below" may mean
# label = ""
# url = ""
# about = []
"""


def start(folder: Path, *, title: str = "", place: str = "", zone: str = "Europe/London") -> tuple[Path, ...]:
    """Make ``folder`` with ``footage/``, ``episode.toml`` and ``finds.csv``; what is there already stays as it is.

    Gives the paths that were made.

    Raises:
        UnusableInput: ``folder`` is a file, or no such time zone.
        CannotWrite: it cannot be made there.
    """
    check_zone(zone)
    if folder.exists() and not folder.is_dir():
        raise UnusableInput("is a file, not a folder", where=str(folder), remedy="Choose another name.")
    date = folder_date(folder.resolve().name)
    settings = _TEMPLATE.format(
        title=json.dumps(title or folder_title(folder.resolve().name), ensure_ascii=False),
        date=f"date = {date.isoformat()}" if date else f"# date = {dt.date(2026, 5, 3).isoformat()}",
        zone=json.dumps(zone),
        place=json.dumps(place, ensure_ascii=False),
    )
    made: list[Path] = []
    footage = folder / "footage"
    if not footage.exists():
        try:
            footage.mkdir(parents=True)
        except OSError as error:
            raise CannotWrite(
                f"cannot be made ({error.strerror})", where=str(footage), remedy="Choose a place that you may write to."
            ) from error
        made.append(footage)
    for path, text in ((folder / NAME, settings), (folder / "finds.csv", LOG_HEADINGS)):
        if not path.exists():
            write_text(path, text)
            made.append(path)
    return tuple(made)
