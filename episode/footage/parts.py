"""Recordings that a camera split into several files: the later pieces follow on from the earlier."""

from __future__ import annotations

import re
from datetime import timedelta
from itertools import pairwise
from pathlib import PurePosixPath

from episode.models import Clip, StartFrom

GAP = timedelta(seconds=2)
"""Creation times are kept to the second, and cameras stamp a new piece when they open or when they close it."""

_CHAPTERED = re.compile(r"^(G[A-Z])(\d\d)(\d{4})$", re.IGNORECASE)
_FIRST_OF_OLD = re.compile(r"^GOPR(\d{4})$", re.IGNORECASE)
_NUMBERED = re.compile(r"^(.*?)(\d+)(\D*)$")


def follow_on(clips: list[Clip]) -> list[Clip]:
    """Give later pieces of one recording the end of the piece before as their start.

    Pieces are told by one of two signs. Either their names carry a chapter number before the recording's number
    (``GX010123``, ``GX020123``), as action cameras count them; or they are numbered in a row in one folder,
    have the same kind of streams, and both carry creation times which are the same (one camera cannot have begun
    two recordings at once) or two seconds from where the piece before ends.
    """
    told = {clip.name: clip for clip in clips}
    for names in _in_rows(clips):
        for before, after in pairwise(names):
            if _continues(told[before], told[after], first=told[names[0]]):
                piece = told[before]
                start = piece.start + timedelta(seconds=piece.duration)
                told[after] = told[after].model_copy(update={"start": start, "start_from": StartFrom.PREVIOUS})
    return [told[clip.name] for clip in clips]


def _in_rows(clips: list[Clip]) -> list[list[str]]:
    """Names that follow each other by number, row by row; a gap in the numbers ends a row."""
    keyed: dict[tuple[str, str, str, str], list[tuple[int, str]]] = {}
    for clip in clips:
        if not (clip.has_video or clip.audio_tracks):
            continue  # a transcript alone was split by nobody
        path = PurePosixPath(clip.name)
        key, number = _numbered(path.stem)
        if number is not None:
            keyed.setdefault((str(path.parent), path.suffix.lower(), clip.camera, key), []).append((number, clip.name))
    rows: list[list[str]] = []
    for members in keyed.values():
        members.sort()
        row = [members[0][1]]
        for (number, _), (following, name) in pairwise(members):
            if following == number + 1:
                row.append(name)
            else:
                rows.append(row)
                row = [name]
        rows.append(row)
    return rows


def _numbered(stem: str) -> tuple[str, int | None]:
    if chapter := _CHAPTERED.match(stem):
        family = "GOPR" if chapter[1].upper() == "GP" else chapter[1].upper()
        return f"chaptered {family} {chapter[3]}", int(chapter[2])
    if first := _FIRST_OF_OLD.match(stem):
        return f"chaptered GOPR {first[1]}", 0
    if plain := _NUMBERED.match(stem):
        return f"{plain[1]}|{plain[3]}|{len(plain[2])}", int(plain[2])
    return stem, None


def _continues(before: Clip, after: Clip, first: Clip) -> bool:
    if _shape(before) != _shape(after):
        return False
    end = before.start + timedelta(seconds=before.duration)
    near_end = abs(after.start - end) <= GAP
    if _numbered(PurePosixPath(after.name).stem)[0].startswith("chaptered "):
        # A card that was used twice repeats numbers: a start of its own far away speaks against the names.
        return after.start_from is not StartFrom.CREATION or first.start - GAP <= after.start <= end + 30 * GAP
    if after.start_from is not StartFrom.CREATION or before.start_from not in (StartFrom.CREATION, StartFrom.PREVIOUS):
        return False
    return near_end or after.start == first.start


def _shape(clip: Clip) -> tuple[object, ...]:
    return (clip.has_video, clip.width, clip.height, clip.fps, clip.audio_tracks, clip.make, clip.model)
