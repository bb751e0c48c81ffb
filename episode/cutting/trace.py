"""From the finished cut back to the raw clips, by sound."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from episode.cutting.doubts import CHANCE_S, FAINT, without_chance, without_lonely, without_slivers
from episode.cutting.joints import sharpen
from episode.cutting.landmarks import Peaks, landmarks, peaks
from episode.cutting.pieces import CutPiece, Flag, Traced
from episode.cutting.propose import HANDS, Index, Proposal, index_of, propose
from episode.cutting.samples import RATE, Sound, sound_on_disk, stretch_of
from episode.cutting.segment import LOWEST_UNKNOWN, WEAK, WEAK_OWN, Run, segment
from episode.cutting.tracks import Track, link, merge, refine
from episode.errors import UnusableInput, UnusableMedia
from episode.footage.probe import probe
from episode.models import Clip, StartFrom
from episode.progress import OneAtATime, Progress, Quiet
from episode.scratch import scratch

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

WINDOW_S, EVERY_S = 2.0, 0.5
CLOSE_WINDOW_S, CLOSE_EVERY_S = 1.0, 0.25
SPEEDS = tuple(sorted({*(1 + k / 200 for k in range(-9, 10) if k), 25 / 24, 24 / 25}))
"""Resampled: half-per-cent steps, and film rate against television rate."""
STRETCHES = tuple(k / 100 for k in (*range(88, 99), *range(102, 113)))
"""Slowed or hastened with the pitch kept."""
SHORT_S, RIVAL, FEW = 0.7, 0.85, 20
_WORTH_A_LOOK_S = 0.4


def trace(cut: Path, clips: Sequence[Clip], *, progress: Progress | None = None) -> Traced:
    """Find where each stretch of ``cut`` came from in ``clips``.

    Landmarks propose, correlation along straight lines measures, and the likeliest path decides; what is like no
    clip is from nowhere. Sound tells the microphone, not the picture. Needs disk space of 16 kB a second of
    footage while it works.

    Raises:
        UnusableMedia: the cut cannot be read.
        UnusableInput: the cut or all of the clips have no sound.
    """
    watch = progress or Quiet()
    film = _film(cut)
    sounding = [clip for clip in clips if clip.audio_tracks]
    if not sounding:
        raise UnusableInput(
            "none of the clips has sound, so the cut cannot be traced by it",
            where="footage/",
            remedy="Export the timeline from the editor as .otio or .edl and give that instead of the film.",
        )
    with scratch() as folder:
        watch.begin("decoding", film.duration + sum(c.duration for c in sounding))
        heard, problems = sound_on_disk(film, folder / "cut", watch)
        sounds: list[Sound] = []
        one_at_a_time = OneAtATime(watch)
        with ThreadPoolExecutor(HANDS) as hands:
            paths = [folder / str(number) for number in range(len(sounding))]
            for sound, damage in hands.map(lambda c, p: sound_on_disk(c, p, one_at_a_time), sounding, paths):
                sounds.append(sound)
                problems += damage
        watch.end()
        if not len(heard.samples):
            raise UnusableMedia("its sound cannot be decoded", where=str(cut), remedy="Export the film again.")
        watch.begin("tracing the cut", heard.duration)
        pieces = trace_sound(heard, sounds)
        watch.end()
        sounds.clear()
    return Traced(
        cut=cut.name, duration=round(film.duration, 6), how="sound", pieces=tuple(pieces), problems=tuple(problems)
    )


def trace_sound(cut: Sound, sounds: Sequence[Sound]) -> list[CutPiece]:
    """As ``trace``, on sounds at 8 kHz."""
    index = index_of(sounds)
    heights = peaks(cut.samples)
    tracks = _settle(_first_look(index, heights, cut.duration), WINDOW_S, cut, sounds)
    runs, median = segment(tracks, cut, sounds)
    for look in (_closer_look, _look_at_other_speeds):
        gaps = [r for r in runs if r.track < 0 and r.end - r.begin >= _WORTH_A_LOOK_S and _loud(cut, r)]
        if not gaps:
            break
        more = look(index, heights, cut, gaps)
        fresh = [t for w, found in more for t in _settle(found, w, cut, sounds)]
        if fresh:
            tracks = merge([*tracks, *fresh])
            runs, median = segment(tracks, cut, sounds)
    told = [_again_at(index, heights, cut, speed, pitch) for speed, pitch in _speeds_in_use(runs, tracks, median)]
    if told:
        tracks = merge([*tracks, *(t for found in told for t in _settle(found, WINDOW_S, cut, sounds))])
        runs, median = segment(tracks, cut, sounds)
    runs = without_lonely(sharpen(without_slivers(without_chance(runs, tracks)), tracks, cut, sounds))
    return [_piece(run, tracks, sounds, median) for run in runs if run.end - run.begin > 1e-6]


def _film(cut: Path) -> Clip:
    told = probe(cut, str(cut))
    if not told.audio:
        raise UnusableInput(
            "the cut has no sound, so it cannot be traced by it",
            where=str(cut),
            remedy="Export the film with its sound, or give the editor's timeline as .otio or .edl.",
        )
    return Clip(
        name=cut.name,
        path=cut,
        duration=told.duration,
        start=datetime(1970, 1, 1, tzinfo=UTC),
        start_from=StartFrom.MODIFIED,
        camera="",
        audio_tracks=len(told.audio),
        has_video=told.has_video,
    )


def _first_look(index: Index, heights: Peaks, duration: float) -> list[Proposal]:
    count = max(1, int((duration - WINDOW_S) / EVERY_S) + 2)
    return propose(index, landmarks(heights), [k * EVERY_S for k in range(count)], window=WINDOW_S)


def _settle(proposals: Iterable[Proposal], window: float, cut: Sound, sounds: Sequence[Sound]) -> list[Track]:
    """Tracks of the proposals, measured; what is no more alike than chance is dropped by the path later."""
    linked = link(proposals, window)
    return merge(refine(track, cut, sounds[track.clip]) for track in linked)


def _loud(cut: Sound, run: Run) -> bool:
    import numpy as np

    samples = stretch_of(cut.samples, round(run.begin * RATE), round(run.end * RATE))
    return bool(len(samples)) and float(np.sqrt((samples**2).mean())) > 1e-3


def _windows(gap: Run, window: float, every: float) -> list[float]:
    begin = max(0.0, gap.begin - window / 2)
    return [begin + k * every for k in range(int((gap.end - begin) / every) + 1)]


def _closer_look(index: Index, heights: Peaks, _: Sound, gaps: Sequence[Run]) -> list[tuple[float, list[Proposal]]]:
    """Shorter windows, more candidates: pieces too short to win a window of two seconds."""
    marks = landmarks(heights)
    at = [t for gap in gaps for t in _windows(gap, CLOSE_WINDOW_S, CLOSE_EVERY_S)]
    return [(CLOSE_WINDOW_S, propose(index, marks, at, window=CLOSE_WINDOW_S, best=4))]


def _look_at_other_speeds(
    index: Index, heights: Peaks, cut: Sound, gaps: Sequence[Run]
) -> list[tuple[float, list[Proposal]]]:
    """Stretches that may have been hastened or slowed. Only a clear winner of all speeds counts."""
    found: list[Proposal] = []
    gaps = [gap for gap in gaps if gap.end - gap.begin >= 1.0]
    everywhere = [t for gap in gaps for t in _windows(gap, WINDOW_S, EVERY_S)]
    for speed in STRETCHES if gaps else ():
        found += propose(index, landmarks(heights, speed), everywhere, window=WINDOW_S, speed=speed, best=1)
    for gap in gaps:
        at = _windows(gap, WINDOW_S, EVERY_S)
        begin = max(0.0, gap.begin - 2)
        samples = stretch_of(cut.samples, round(begin * RATE), round(min(cut.duration, gap.end + 2) * RATE))
        for speed in SPEEDS:
            marks = landmarks(peaks(_slowed(samples, speed)))
            found += propose(
                index,
                marks,
                [t for t in at if t >= begin],
                window=WINDOW_S,
                speed=speed,
                pitch=speed,
                begin=begin,
                best=1,
            )
    winners: dict[float, Proposal] = {}
    for p in found:
        if p.at not in winners or p.votes > winners[p.at].votes:
            winners[p.at] = p
    return [(WINDOW_S, [p for p in winners.values() if p.votes >= 12])]


def _speeds_in_use(runs: Sequence[Run], tracks: Sequence[Track], median: float) -> list[tuple[float, float]]:
    """Speeds (and pitches) that hold a good part of the film: usually one speed was set for all of it."""
    held: dict[tuple[float, float], float] = {}
    for run in runs:
        if run.track < 0 or run.score < 0.6 * median or abs(tracks[run.track].speed - 1) < 2e-3:
            continue
        track = tracks[run.track]
        key = (round(track.speed, 2), 1.0) if track.stretched else (track.pitch, track.pitch)
        held[key] = held.get(key, 0.0) + run.end - run.begin
    return sorted((key for key, seconds in held.items() if seconds >= 4.0), key=lambda key: -held[key])[:3]


def _again_at(index: Index, heights: Peaks, cut: Sound, speed: float, pitch: float) -> list[Proposal]:
    """All of the cut once more, at a speed that some of it has."""
    marks = landmarks(heights, speed)
    if pitch != 1.0:
        marks = landmarks(peaks(_slowed(stretch_of(cut.samples, 0, len(cut.samples)), pitch)))
    at = [k * EVERY_S for k in range(max(1, int((cut.duration - WINDOW_S) / EVERY_S) + 2))]
    return propose(index, marks, at, window=WINDOW_S, speed=speed, pitch=pitch)


def _slowed(heard: npt.NDArray[np.float32], speed: float) -> npt.NDArray[np.int16]:
    """Played ``speed`` times slower, with the pitch that this gives."""
    import numpy as np

    where = np.arange(int(len(heard) * speed)) / speed
    return (np.interp(where, np.arange(len(heard)), heard) * 32767).astype(np.int16)


def _piece(run: Run, tracks: Sequence[Track], sounds: Sequence[Sound], median: float) -> CutPiece:
    begin, end = round(run.begin, 4), round(run.end, 4)
    if run.track < 0:
        return CutPiece(cut_start=begin, cut_end=end)
    track = tracks[run.track]
    likeness = run.score / max(median, LOWEST_UNKNOWN)
    flags: list[Flag] = []
    if likeness < WEAK or run.score < WEAK_OWN * run.usual or (run.score < FAINT and end - begin < CHANCE_S):
        flags.append("weak")
    if end - begin < SHORT_S:
        flags.append("short")
    if run.rival > RIVAL * run.score:
        flags.append("rival")
    if track.votes < FEW:
        flags.append("few votes")
    if track.stretched:
        flags.append("stretched")
    sure = min(1.0, likeness) * (0.7 if "short" in flags else 1.0) * (0.6 if "rival" in flags else 1.0)
    return CutPiece(
        cut_start=begin,
        cut_end=end,
        clip=sounds[track.clip].name,
        clip_start=round(max(0.0, track.at(begin)), 4),
        speed=round(track.speed, 6),
        confidence=round(max(0.0, sure), 3),
        flags=tuple(flags),
    )
