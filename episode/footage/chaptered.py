"""A copy of a film with chapters in it: every stream as it is, nothing re-encoded."""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from pathlib import Path

from episode.errors import UnusableInput, UnusableMedia
from episode.footage.commands import chaptered_command
from episode.footage.probe import probe
from episode.models import Chapter
from episode.scratch import scratch
from episode.storage import replacing

MUXERS = {
    ".mp4": "mp4",
    ".m4v": "mp4",
    ".m4a": "ipod",
    ".mov": "mov",
    ".mkv": "matroska",
    ".mka": "matroska",
    ".webm": "webm",
    ".mp3": "mp3",
}
"""FFmpeg's names of the containers that hold chapters, by file name ending."""


def with_chapters(
    film: Path, target: Path, chapters: Sequence[Chapter], *, title: str = "", replace: bool = False
) -> None:
    """Write a copy of ``film`` to ``target`` with ``chapters`` in place of those that it has.

    Streams and their metadata are copied; the film's own tags are kept, but for those that tell where it was shot.
    ``title`` is given to a film that has none. The film is only read.

    Raises:
        UnusableInput: see ``refuse``.
        UnusableMedia: the film cannot be read, or its streams do not go into such a container.
        CannotWrite: ``target`` could not be written; an older file is as it was.
    """
    refuse(film, target, replace=replace)
    tags = probe(film, str(film)).tags
    own = {key for key in tags if _tells_place(key)}
    with scratch() as folder, replacing(target) as temporary:
        told = folder / "chapters.ffmeta"
        told.write_text(_ffmeta(chapters), encoding="utf-8")
        command = chaptered_command(
            film,
            told,
            temporary,
            muxer=MUXERS[target.suffix.lower()],
            without=sorted(own | PLACES),
            title="" if tags.get("title") else title,
            own_keys=any(key.startswith("com.") for key in tags),
        )
        ran = subprocess.run(  # noqa: S603 - our own arguments, no shell
            command, stdin=subprocess.DEVNULL, capture_output=True, check=False
        )
        if ran.returncode != 0 or not temporary.stat().st_size:
            lines = ran.stderr.decode("utf-8", "replace").strip().splitlines()
            reason = "".join(c for c in lines[-1] if c.isprintable())[:200] if lines else "FFmpeg gave no reason"
            raise UnusableMedia(
                f"could not be copied with chapters ({reason})",
                where=str(film),
                remedy=f"Name the copy with the film's own ending ({film.suffix}).",
            )


def refuse(film: Path, target: Path, *, replace: bool = False) -> None:
    """Say what stands against writing ``target`` before any work is done.

    Raises:
        UnusableInput: it is the film itself, it exists and ``replace`` was not said, it is no file, or containers
            of its kind hold no chapters.
    """
    if target.suffix.lower() not in MUXERS:
        raise UnusableInput(
            f"files ending in “{target.suffix}” hold no chapters",
            where=str(target),
            remedy="Name the copy " + ", ".join(MUXERS) + ".",
        )
    if target.exists() and film.exists() and target.samefile(film):
        raise UnusableInput("is the film itself, which is never changed", where=str(target), remedy="Name a new file.")
    if target.is_dir() or target.is_symlink():
        raise UnusableInput("is not a file that can be replaced", where=str(target), remedy="Name a new file.")
    if target.exists() and not replace:
        raise UnusableInput("exists already", where=str(target), remedy="Name a new file, or say --replace.")


PLACES = frozenset(
    "location location-eng com.apple.quicktime.location.iso6709 com.apple.quicktime.location.accuracy.horizontal "
    "com.apple.quicktime.location.name com.apple.quicktime.location.role xyz ©xyz gps gpscoordinates "
    "gpslatitude gpslongitude gpsaltitude coordinates recording_location".split()
)
"""Tags that tell where a film was shot (QuickTime metadata keys and ``©xyz``; Matroska's ``RECORDING_LOCATION``)."""


def _tells_place(key: str) -> bool:
    low = key.casefold()
    return low in PLACES or any(part in low for part in ("location", "gps", "latitude", "longitude", "iso6709"))


def _ffmeta(chapters: Sequence[Chapter]) -> str:
    """FFmpeg metadata of nothing but chapters, in thousandths of a second."""
    parts = [";FFMETADATA1\n"]
    for chapter in chapters:
        name = "".join("\\" + c if c in "=;#\\" else c for c in " ".join(chapter.title.split()))
        parts.append(
            "[CHAPTER]\nTIMEBASE=1/1000\n"
            f"START={round(chapter.start * 1000)}\nEND={round(chapter.end * 1000)}\ntitle={name}\n"
        )
    return "".join(parts)
