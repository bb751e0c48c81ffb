"""Hearing a day: every clip's words, each stretch of sound heard once and kept."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from episode.errors import EpisodeError, MissingModel, UnusableInput
from episode.models import Clip, Hearing, Problem, Segment, Settings, Transcript, Word
from episode.progress import Progress, Quiet
from episode.speech.heard import HeardClip, HeardStretch, Part, Shelf, clip_key, stretch_key
from episode.speech.recognise import Ear, HeardSegment, Recogniser
from episode.speech.stretches import LONGEST_S, Stretch, may_speak, stretches
from episode.speech.subtitles import read_subtitles
from episode.speech.weights import identity

HEARING_VERSION = 1
"""Raised whenever the same sound, weights and options would give other words."""


def hear(
    clips: Sequence[Clip],
    settings: Settings,
    *,
    cache: Path,
    device: str = "cpu",
    model: str | None = None,
    fetch: bool = False,
    only: Mapping[str, Sequence[tuple[float, float]]] | None = None,
    progress: Progress | None = None,
) -> tuple[Transcript, tuple[Problem, ...]]:
    """The words of every clip, in the order of ``clips``, and what went wrong.

    A transcript file beside a clip stands in for recognition. Every finished stretch of sound is kept in
    ``cache`` at once: a stop loses at most the one in hand, and a second run hears nothing again. A clip
    that fails is reported, and the rest goes on. Every segment has words, their times to 0.01 s, rising and
    within the clip, their text without surrounding space. ``only`` names, for a clip, the stretches that are
    listened to (seconds, in order, apart); of these only those in which somebody may speak.

    Raises:
        MissingModel: something must be heard and the weights are absent or damaged.
        UnusableInput: the weights do not know the language, or the device is not there.
    """
    day = _Day(settings, cache, device=device, model=model, fetch=fetch, progress=progress or Quiet())
    day.only = dict(only or {})
    segments: list[Segment] = []
    hearings: list[Hearing] = []
    for number, clip in enumerate(clips, start=1):
        hearing, found = day.clip(clip, f"{clip.name} ({number} of {len(clips)})")
        hearings.append(hearing)
        segments += found
    if day.shelf.full:
        day.problems.append(
            Problem(
                where=str(cache),
                what=f"what was heard could not be kept: {day.shelf.full}",
                remedy="The results are whole, but the next run must listen again.",
            )
        )
    return Transcript(segments=tuple(segments), clips=tuple(hearings)), tuple(day.problems)


class _Day:
    """What one call shares between its clips: the recogniser, the shelf, the problems."""

    def __init__(
        self, settings: Settings, cache: Path, *, device: str, model: str | None, fetch: bool, progress: Progress
    ) -> None:
        self.name = model or settings.model
        self.clean = settings.clean_sound
        self.ear = Ear(self.name, Recogniser(language=settings.language), device=device, fetch=fetch, progress=progress)
        self.fetch = fetch
        self.shelf = Shelf(cache)
        self.progress = progress
        self.problems: list[Problem] = []
        self.only: dict[str, Sequence[tuple[float, float]]] = {}
        self._told: str | None = None

    def clip(self, clip: Clip, title: str) -> tuple[Hearing, list[Segment]]:
        """One clip's words. Never raises for what is wrong with the clip alone."""
        if clip.transcript is not None:
            return self._from_file(clip, clip.transcript)
        if not clip.audio_tracks:
            return Hearing(clip=clip.name, how="no sound"), []
        return self._from_sound(clip, title)

    def _from_file(self, clip: Clip, path: Path) -> tuple[Hearing, list[Segment]]:
        try:
            segments, problems = read_subtitles(path, clip.name, clip.duration or None)
        except UnusableInput as error:
            self._failed(clip, error)
            return Hearing(clip=clip.name, how="failed"), []
        self.problems += problems
        return Hearing(clip=clip.name, how="transcript file"), list(segments)

    def _from_sound(self, clip: Clip, title: str) -> tuple[Hearing, list[Segment]]:
        told = self._all_else()
        known: HeardClip | None = None
        key: str | None = None
        try:
            key = clip_key(clip.path, f"{told} clean={self.clean} longest={LONGEST_S}{self._said_only(clip)}")
            known = self.shelf.clip(key)
        except OSError as error:
            self._failed(clip, UnusableInput(f"cannot be read ({error.strerror})", remedy="Copy the clip again."))
            return Hearing(clip=clip.name, how="failed"), []
        whole = self._remembered(known)
        if known and whole is not None:
            return self._result(clip, whole, known.language)
        return self._listened(clip, title, key, known)

    def _remembered(self, known: HeardClip | None) -> list[tuple[float, HeardStretch]] | None:
        """Every stretch of a clip that was heard to its end, or nothing."""
        if known is None or not known.complete:
            return None
        found = [(part.start, self.shelf.stretch(part.key)) for part in known.stretches]
        whole = [(start, heard) for start, heard in found if heard is not None]
        return whole if len(whole) == len(found) else None

    def _listened(self, clip: Clip, title: str, key: str, known: HeardClip | None) -> tuple[Hearing, list[Segment]]:
        old = [part for part in known.stretches if self.shelf.stretch(part.key)] if known else []
        already = sum(part.end - part.start for part in old)
        if already:
            self.progress.say(f"{clip.name}: {already:.0f} s were heard before and are kept")
        whole = sum(end - start for start, end in self.only[clip.name]) if clip.name in self.only else clip.duration
        self.progress.begin(f"hearing {title}", max(0.0, whole - already))
        index = HeardClip(language=None if self.ear.options.language == "auto" else self.ear.options.language)
        heard: list[tuple[float, HeardStretch]] = []
        note = "stopped"
        broken = False
        try:
            for stretch in self._sound(clip):
                found, part = self._stretch(stretch, index.language, counted={p.key for p in old})
                heard.append((stretch.start, found))
                index = index.model_copy(
                    update={"stretches": (*index.stretches, part), "language": index.language or found.language}
                )
                if not known or len(index.stretches) > len(known.stretches):
                    self.shelf.keep_clip(key, index)
            self.shelf.keep_clip(key, index.model_copy(update={"complete": True}))
            note = "done"
        except (MissingModel, UnusableInput):
            raise
        except (EpisodeError, RuntimeError) as error:
            note, broken = "broke off", True
            self._broke(clip, error, heard[-1][0] + _length(index) if heard else 0.0)
        finally:
            self.progress.end(note)
        if broken and not heard:
            return Hearing(clip=clip.name, how="failed"), []
        return self._result(clip, heard, index.language)

    def _sound(self, clip: Clip) -> Iterator[Stretch]:
        from episode.footage.sound import pieces

        if clip.name not in self.only:
            return stretches(pieces(clip, seconds=60, clean=self.clean), longest=LONGEST_S)
        parts = (
            stretches(pieces(clip, seconds=60, clean=self.clean, begin=start, until=end), longest=LONGEST_S)
            for start, end in self.only[clip.name]
        )
        # Silence, titles and music are not given to the recogniser, which would make words of them.
        return (stretch for part in parts for stretch in part if may_speak(stretch.samples))

    def _said_only(self, clip: Clip) -> str:
        return f" only={[*self.only[clip.name]]}" if clip.name in self.only else ""

    def _stretch(self, stretch: Stretch, language: str | None, *, counted: Iterable[str]) -> tuple[HeardStretch, Part]:
        key = stretch_key(stretch.samples, f"{self._all_else()} {language}")
        part = Part(start=round(stretch.start, 3), end=round(stretch.end, 3), key=key)
        length = stretch.end - stretch.start
        known = self.shelf.stretch(key)
        if known is not None:
            self.progress.advance(0.0 if key in counted else length)
            return known, part
        at = 0.0

        def reached(seconds: float) -> None:
            nonlocal at
            if at < seconds <= length:
                self.progress.advance(seconds - at)
                at = seconds

        segments, found = self.ear.listen(stretch.samples, language=language, reached=reached)
        heard = HeardStretch(language=found, segments=tuple(_rounded(segment) for segment in segments))
        self.shelf.keep_stretch(key, heard)
        self.progress.advance(length - at)
        return heard, part

    def _all_else(self) -> str:
        """Everything but the sound that decides what is heard."""
        if self._told is None:
            weights = self.ear.weights.checksum if self.fetch else identity(self.name)
            self._told = f"{HEARING_VERSION} {weights} {self.ear.options.model_dump_json()}"
        return self._told

    def _result(
        self, clip: Clip, heard: list[tuple[float, HeardStretch]], language: str | None
    ) -> tuple[Hearing, list[Segment]]:
        segments = _placed(clip, heard)
        hearing = Hearing(clip=clip.name, how="recognised", model=self.name, language=language)
        return (hearing if heard else Hearing(clip=clip.name, how="no sound")), segments

    def _failed(self, clip: Clip, error: EpisodeError) -> None:
        where = f"{clip.name}: {error.where}" if error.where else clip.name
        self.problems.append(Problem(where=where, what=error.what, remedy=error.remedy, level="error"))

    def _broke(self, clip: Clip, error: Exception, until: float) -> None:
        what = error.what if isinstance(error, EpisodeError) else f"the recogniser failed ({error})"
        remedy = (error.remedy if isinstance(error, EpisodeError) else "") or "Copy the clip again, or leave it out."
        if until:
            what = f"the sound could be heard only until {_clock(until)} of {_clock(clip.duration)}: {what}"
        self.problems.append(Problem(where=clip.name, what=what, remedy=remedy, level="error"))


def _rounded(segment: HeardSegment) -> HeardSegment:
    """As kept and as given out alike, so that a second run gives the same bytes as the first."""
    words = tuple(
        word.model_copy(
            update={
                "start": round(word.start, 2),
                "end": round(word.end, 2),
                "word": word.word.strip(),
                "probability": round(min(1.0, max(0.0, word.probability)), 3),
            }
        )
        for word in segment.words
    )
    return HeardSegment(start=words[0].start, end=words[-1].end, text=segment.text, words=words)


def _placed(clip: Clip, heard: list[tuple[float, HeardStretch]]) -> list[Segment]:
    """Segments on the clip's own time: words rise, do not overlap, and lie within the clip."""
    longest = clip.duration or float("inf")
    following = longest
    placed = []
    for offset, stretch in reversed(heard):
        for segment in reversed(stretch.segments):
            words: list[Word] = []
            for word in reversed(segment.words):
                start = min(round(word.start + offset, 2), following)
                end = max(start, min(round(word.end + offset, 2), following))
                words.insert(0, Word(start=start, end=end, word=word.word, probability=word.probability))
                following = start
            placed.append(
                Segment(clip=clip.name, start=words[0].start, end=words[-1].end, text=segment.text, words=tuple(words))
            )
    return placed[::-1]


def _length(index: HeardClip) -> float:
    return index.stretches[-1].end - index.stretches[-1].start


def _clock(seconds: float) -> str:
    minutes, rest = divmod(int(seconds), 60)
    return f"{minutes}:{rest:02}"
