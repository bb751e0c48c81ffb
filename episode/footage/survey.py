"""The day's clips: what was filmed, by which camera, and when each clip began."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path, PurePosixPath
from zoneinfo import ZoneInfo

from episode.errors import UnusableInput, UnusableMedia
from episode.footage.cameras import camera_of
from episode.footage.containers import TRANSCRIPTS
from episode.footage.listing import Listed, list_footage, plain
from episode.footage.parts import follow_on
from episode.footage.probe import Probed, probe
from episode.footage.sizes import MOST_PIXELS, MOST_SECONDS, too_large
from episode.footage.standins import last_cue_end
from episode.footage.starts import wall_clock_start
from episode.models import Clip, Problem, Settings

_TIMECODE = re.compile(r"[0-2]\d:[0-5]\d:[0-5]\d[:;.]\d\d")


def survey(folder: Path, settings: Settings) -> tuple[tuple[Clip, ...], tuple[Problem, ...]]:
    """List and probe ``folder``/footage, in the order of the clips' starts (ties by name). Nothing is written.

    A clip that cannot be used is a problem of level ``error`` and the rest goes on. A transcript without its
    clip is a clip too, without sound or picture.

    Raises:
        UnusableInput: there is no footage folder, or nothing in it can be used.
    """
    root = folder / "footage"
    if not root.is_dir():
        raise UnusableInput(
            "there is no footage folder",
            where=str(root),
            remedy="Make a folder `footage` there and copy the raw clips into it, as they came off the cameras.",
        )
    zone = _zone(settings)
    listing = list_footage(root)
    problems = list(listing.problems)
    clips: list[Clip] = []
    for listed in listing.clips:
        probed = _probe(listed, problems)
        if probed is not None:
            clips.append(_clip(listed, probed, settings, zone, problems))
    clips = _with_transcripts(clips, listing.texts, settings, zone, problems)
    if not clips:
        why = "\n  ".join(f"{p.where}: {p.what}" for p in problems if p.level != "note")
        raise UnusableInput(
            "no clip in it can be used" + (f"\n  {why}" if why else ""),
            where=str(root),
            remedy="Copy the raw clips (MP4, MOV, MTS, WAV and so on) into it as they came off the cameras, "
            "or transcripts of them (.srt, .vtt, .txt).",
        )
    clips = follow_on(clips)
    clips.sort(key=lambda clip: (clip.start, clip.name))
    return tuple(clips), tuple(problems)


def _zone(settings: Settings) -> ZoneInfo:
    try:
        return ZoneInfo(settings.time_zone)
    except (OSError, ValueError) as error:  # ZoneInfoNotFoundError is a KeyError on some systems
        raise _bad_zone(settings) from error
    except KeyError as error:
        raise _bad_zone(settings) from error


def _bad_zone(settings: Settings) -> UnusableInput:
    return UnusableInput(
        f"there is no time zone {settings.time_zone!r}",
        where="episode.toml: time_zone",
        remedy='Use a name of the time zone database, as in "Europe/London".',
    )


def _probe(listed: Listed, problems: list[Problem]) -> Probed | None:
    try:
        probed = probe(listed.path, plain(listed.name))
    except UnusableMedia as error:
        if listed.sure:
            problems.append(Problem(where=error.where, what=error.what, remedy=error.remedy, level="error"))
        else:
            problems.append(Problem(where=error.where, what="not known as footage; left out", level="note"))
        return None
    if probed.duration <= 0:
        problems.append(
            Problem(
                where=plain(listed.name),
                what="it has no length",
                remedy="Copy it again from the card, or take it out of footage/.",
                level="error",
            )
        )
        return None
    if probed.duration > MOST_SECONDS:
        problems.append(
            Problem(
                where=plain(listed.name),
                what=f"it says that it lasts {probed.duration / 86400:,.0f} days, which no clip does",
                remedy="Copy it again from the card; if it stays so, export it anew with an editor.",
                level="error",
            )
        )
        return None
    return probed


def _clip(listed: Listed, probed: Probed, settings: Settings, zone: ZoneInfo, problems: list[Problem]) -> Clip:
    start, start_from, doubts = wall_clock_start(listed.name, probed.tags, listed.modified, zone)
    problems.extend(doubts)
    if not probed.audio:
        problems.append(
            Problem(where=plain(listed.name), what="it has no sound, so nothing can be heard in it", level="note")
        )
    if too_large(probed.width, probed.height):
        problems.append(
            Problem(
                where=plain(listed.name),
                what=f"its picture of {probed.width:,} by {probed.height:,} has more than {MOST_PIXELS / 1e6:.1f} million "
                "pixels (8192 by 4352), so it is not looked at and no stills are taken; its sound is heard",
                remedy="Where you want stills of it, export it at 7680 by 4320 or smaller and put that into footage/ "
                "instead.",
            )
        )
    return Clip(
        name=listed.name,
        path=listed.path,
        duration=round(probed.duration, 6),
        start=start,
        start_from=start_from,
        camera=camera_of(listed.name, probed.make, probed.model, settings.cameras),
        make=probed.make,
        model=probed.model,
        width=probed.width,
        height=probed.height,
        rotation=probed.rotation,
        fps=probed.fps,
        timecode=_timecode(probed.tags.get("timecode", "")),
        audio_tracks=len(probed.audio),
        has_video=probed.has_video,
    )


def _timecode(text: str) -> str | None:
    return text if _TIMECODE.fullmatch(text) else None


def _with_transcripts(
    clips: list[Clip], texts: Iterable[Listed], settings: Settings, zone: ZoneInfo, problems: list[Problem]
) -> list[Clip]:
    """Give each clip the transcript of its name; a transcript that nobody claims becomes a clip by itself."""
    told = {clip.name: clip for clip in clips}
    for text in sorted(texts, key=lambda t: (t.name.rpartition(".")[0], TRANSCRIPTS.index(t.path.suffix.lower()))):
        owner = _owner(text, told, problems)
        try:
            end = last_cue_end(text.path)
        except OSError as error:
            problems.append(
                Problem(where=plain(text.name), what=f"cannot be read ({error.strerror})", remedy="Check the file.")
            )
            continue
        if end is None:
            _not_a_transcript(text, owner, problems)
        elif owner is None:
            told[text.name] = _alone(text, end, settings, zone, problems)
        elif owner.transcript is not None:
            problems.append(
                Problem(
                    where=plain(text.name),
                    what=f"a second transcript; {plain(owner.transcript.name)} is used",
                    remedy="Keep one transcript beside a clip.",
                )
            )
        else:
            told[owner.name] = owner.model_copy(update={"transcript": text.path})
    return list(told.values())


def _owner(text: Listed, told: dict[str, Clip], problems: list[Problem]) -> Clip | None:
    """The clip of the transcript's name, in the same case if there is one; the picture before the sound."""
    wanted = PurePosixPath(text.name).with_suffix("")
    stems = [(PurePosixPath(name).with_suffix(""), clip) for name, clip in told.items()]
    same = [clip for stem, clip in stems if stem == wanted]
    same = same or [clip for stem, clip in stems if str(stem).casefold() == str(wanted).casefold()]
    media = sorted((c for c in same if c.transcript != c.path), key=lambda c: (not c.has_video, c.name))
    if len(media) > 1:
        problems.append(
            Problem(
                where=plain(text.name),
                what=f"several clips have its name; it is taken for {plain(media[0].name)}",
                remedy="Give each clip a name of its own.",
            )
        )
    return media[0] if media else next(iter(same), None)


def _not_a_transcript(text: Listed, owner: Clip | None, problems: list[Problem]) -> None:
    if text.path.suffix.lower() == ".txt" and owner is None:
        return  # a note of the person's own
    problems.append(
        Problem(
            where=plain(text.name),
            what="not a transcript: there are no times in it; left out",
            remedy="Begin each paragraph with a stamp such as [1:23]."
            if text.path.suffix.lower() == ".txt"
            else "Export it again as SubRip or WebVTT.",
        )
    )


def _alone(text: Listed, end: float, settings: Settings, zone: ZoneInfo, problems: list[Problem]) -> Clip:
    start, start_from, doubts = wall_clock_start(text.name, {}, text.modified, zone)
    problems.extend(doubts)
    return Clip(
        name=text.name,
        path=text.path,
        duration=round(end, 6),
        start=start,
        start_from=start_from,
        camera=camera_of(text.name, None, None, settings.cameras),
        transcript=text.path,
    )
