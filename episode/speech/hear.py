"""Hearing a day: every clip's words, each stretch of sound heard once and kept.

Stretches are cut at silences and know nothing of each other, so that as many are heard at once as there are
processors, while the next is being decoded; a processor that works on one stretch alone wastes nothing on waiting
for the others, as it does inside one call. What is in memory does not grow with the day: a stretch for each hand,
one that lies ready, and the words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from episode.crew import Task, in_order
from episode.errors import EpisodeError, MissingModel, UnusableInput
from episode.memory import give_back
from episode.models import Clip, Hearing, Problem, Segment, Settings, Transcript, Word
from episode.progress import Progress, Quiet
from episode.scratch import sweep
from episode.speech.heard import HeardClip, HeardStretch, Part, Shelf, clip_key, stretch_key
from episode.speech.recognise import Ear, HeardSegment, Recogniser
from episode.speech.stretches import LONGEST_S, Stretch, may_speak, stretches
from episode.speech.subtitles import read_subtitles
from episode.speech.weights import identity

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

HEARING_VERSION = 2
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
    sweep(cache, *(cache / kind for kind in ("heard", "clips", "again", "landmarks", "runs", "sound")))
    day = _Day(settings, cache, device=device, model=model, fetch=fetch, progress=progress or Quiet())
    day.only = dict(only or {})
    for item in in_order(day.items(clips), hands=day.ear.hands, meanwhile=day.meanwhile):
        day.take(item)
    segments = [segment for state in day.clips for segment in state.segments]
    hearings = [state.hearing for state in day.clips if state.hearing]
    if day.shelf.full:
        day.problems.append(
            Problem(
                where=str(cache),
                what=f"what was heard could not be kept: {day.shelf.full}",
                remedy="The results are whole, but the next run must listen again.",
            )
        )
    return Transcript(segments=tuple(segments), clips=tuple(hearings)), tuple(day.problems)


@dataclass(eq=False)
class _State:
    """One clip on its way."""

    clip: Clip
    title: str
    key: str = ""
    known: HeardClip | None = None
    index: HeardClip = field(default_factory=HeardClip)
    heard: list[tuple[float, HeardStretch]] = field(default_factory=list)
    broken: bool = False
    hearing: Hearing | None = None
    segments: Sequence[Segment] = ()


@dataclass(eq=False, kw_only=True)
class _Item(Task[HeardStretch]):
    """Something about a clip, in its place: it begins, one of its stretches is heard, it ends."""

    about: _State
    kind: Literal["begin", "stretch", "end"] = "begin"
    part: Part | None = None
    """Where the stretch lies; ``None`` where the clip came whole from a file or from the shelf."""
    counted: bool = False
    told: float = 0.0
    error: Exception | None = None


class _Day:
    """What one call shares between its clips: the recogniser, the shelf, the problems.

    ``items`` decodes and cuts, ahead of what is heard; the hands hear; ``take`` puts together, in order. Only the
    hands' part (``_work``) runs in other threads.
    """

    def __init__(
        self, settings: Settings, cache: Path, *, device: str, model: str | None, fetch: bool, progress: Progress
    ) -> None:
        self.name = model or settings.model
        self.clean = settings.clean_sound
        self.ear = Ear(self.name, Recogniser(language=settings.language), device=device, fetch=fetch, progress=progress)
        self.fetch = fetch
        self.cache = cache
        self.shelf = Shelf(cache)
        self.progress = progress
        self.problems: list[Problem] = []
        self.only: dict[str, Sequence[tuple[float, float]]] = {}
        self.clips: list[_State] = []
        self._told: str | None = None

    # ------------------------------------------------------------------ ahead: what there is to hear

    def items(self, clips: Sequence[Clip]) -> Iterator[_Item]:
        """Everything there is to do, in order. Never raises for what is wrong with a clip alone."""
        for number, clip in enumerate(clips, start=1):
            yield from self._clip(_State(clip, f"{clip.name} ({number} of {len(clips)})"))

    def _clip(self, state: _State) -> Iterator[_Item]:
        clip = state.clip
        if clip.transcript is not None:
            yield _Item(about=state, kind="end")
        elif not clip.audio_tracks:
            state.hearing = Hearing(clip=clip.name, how="no sound")
            yield _Item(about=state, kind="end")
        else:
            yield from self._from_sound(state)

    def _from_sound(self, state: _State) -> Iterator[_Item]:
        try:
            state.key = self._key(state.clip)
            state.known = self.shelf.clip(state.key)
        except OSError as error:
            remedy = "Copy the clip again."
            yield _Item(
                about=state, kind="end", error=UnusableInput(f"cannot be read ({error.strerror})", remedy=remedy)
            )
            return
        whole = self._remembered(state.known)
        if state.known and whole is not None:
            state.heard, state.index = whole, state.known
            yield _Item(about=state, kind="end")
            return
        auto = self.ear.options.language == "auto"
        language = None if auto else self.ear.options.language
        state.index = HeardClip(language=language)
        old = [part for part in state.known.stretches if self.shelf.stretch(part.key)] if state.known else []
        yield _Item(about=state, kind="begin", told=sum(part.end - part.start for part in old))
        try:
            for stretch in self._sound(state.clip):
                item = self._stretch(state, stretch, language, {part.key for part in old})
                yield item
                if language is None:
                    language = _language(item)  # the first speech of a clip decides
                if state.broken:
                    return
            yield _Item(about=state, kind="end")
        except (MissingModel, UnusableInput):
            raise
        except (EpisodeError, RuntimeError) as error:
            yield _Item(about=state, kind="end", error=error)

    def _remembered(self, known: HeardClip | None) -> list[tuple[float, HeardStretch]] | None:
        """Every stretch of a clip that was heard to its end, or nothing."""
        if known is None or not known.complete:
            return None
        found = [(part.start, self.shelf.stretch(part.key)) for part in known.stretches]
        whole = [(start, heard) for start, heard in found if heard is not None]
        return whole if len(whole) == len(found) else None

    def _key(self, clip: Clip) -> str:
        """The clip's key. The time of the last change to its file is part of it, which no copying program sets back."""
        changed = clip.path.stat().st_ctime_ns
        more = f"clean={self.clean} longest={LONGEST_S} changed={changed}{self._said_only(clip)}"
        return clip_key(clip.path, f"{self._all_else()} {more}")

    def _changed(self, state: _State) -> bool:
        """Whether the clip is no longer the one that was begun with; says so."""
        try:
            if self._key(state.clip) == state.key:
                return False
            what = "the clip was changed or replaced while it was being heard"
        except OSError:
            what = "the clip was taken away while it was being heard"
        remedy = "Wait until copying has ended, then run the same command again."
        self.problems.append(Problem(where=state.clip.name, what=what, remedy=remedy, level="error"))
        return True

    def _sound(self, clip: Clip) -> Iterator[Stretch]:
        from episode.footage.kept_sound import sounding
        from episode.footage.sound import pieces

        if clip.name not in self.only:
            return stretches(sounding(clip, cache=self.cache, clean=self.clean), longest=LONGEST_S)
        parts = (
            stretches(pieces(clip, seconds=60, clean=self.clean, begin=start, until=end), longest=LONGEST_S)
            for start, end in self.only[clip.name]
        )
        # Silence, titles and music are not given to the recogniser, which would make words of them.
        return (stretch for part in parts for stretch in part if may_speak(stretch.samples))

    def _said_only(self, clip: Clip) -> str:
        return f" only={[*self.only[clip.name]]}" if clip.name in self.only else ""

    def _all_else(self) -> str:
        """Everything but the sound that decides what is heard."""
        if self._told is None:
            weights = self.ear.weights.checksum if self.fetch else identity(self.name)
            self._told = f"{HEARING_VERSION} {weights} {self.ear.options.model_dump_json()}"
        return self._told

    # ------------------------------------------------------------------ hearing

    def _stretch(self, state: _State, stretch: Stretch, language: str | None, old: set[str]) -> _Item:
        key = stretch_key(stretch.samples, f"{self._all_else()} {language}")
        part = Part(start=round(stretch.start, 3), end=round(stretch.end, 3), key=key)
        known = self.shelf.stretch(key)
        work = (lambda _: known) if known is not None else partial(self._work, key, stretch.samples, language)
        return _Item(work=work, about=state, kind="stretch", part=part, counted=known is not None and key in old)

    def _work(
        self, key: str, samples: NDArray[np.float32], language: str | None, reached: Callable[[float], None]
    ) -> HeardStretch:
        segments, found = self.ear.listen(samples, language=language, reached=reached)
        heard = HeardStretch(language=found, segments=tuple(_rounded(segment) for segment in segments))
        self.shelf.keep_stretch(key, heard)
        return heard

    # ------------------------------------------------------------------ putting together

    def meanwhile(self, item: _Item) -> None:
        """Say how far the stretch that is waited for has come."""
        if item.part is not None and not item.about.broken:
            length = item.part.end - item.part.start
            if item.told < item.reached <= length:
                self.progress.advance(item.reached - item.told)
                item.told = item.reached

    def take(self, item: _Item) -> None:
        """Put the item with its clip."""
        state = item.about
        if item.kind == "begin":
            self._begun(state, item.told)
        elif item.kind == "end":
            self._ended(state, item.error)
        elif item.part is not None and not state.broken:
            self._heard(state, item, item.part)
            give_back()

    def _begun(self, state: _State, already: float) -> None:
        clip = state.clip
        if already:
            self.progress.say(f"{clip.name}: {already:.0f} s were heard before and are kept")
        whole = sum(end - start for start, end in self.only[clip.name]) if clip.name in self.only else clip.duration
        self.progress.begin(f"hearing {state.title}", max(0.0, whole - already))

    def _heard(self, state: _State, item: _Item, part: Part) -> None:
        try:
            found = item.result()
        except (MissingModel, UnusableInput):
            self.progress.end("stopped")
            raise
        except (EpisodeError, RuntimeError) as error:
            state.broken = True
            self._broke(state, error)
            return
        if not item.counted:
            self.progress.advance(part.end - part.start - item.told)
        state.heard.append((part.start, found))
        index = state.index
        state.index = index.model_copy(
            update={"stretches": (*index.stretches, part), "language": index.language or found.language}
        )
        if not state.known or len(state.index.stretches) > len(state.known.stretches):
            self.shelf.keep_clip(state.key, state.index)

    def _ended(self, state: _State, error: Exception | None) -> None:
        clip = state.clip
        if state.broken:
            return
        if clip.transcript is not None:
            state.hearing, state.segments = self._from_file(clip, clip.transcript)
        elif state.key == "" and error is not None:
            self._failed(clip, error)
            state.hearing = Hearing(clip=clip.name, how="failed")
        elif error is not None:
            self._broke(state, error)
            return
        elif state.hearing is None:
            if not state.index.complete and self._changed(state):
                self.progress.end("the clip changed")
            elif not state.index.complete:
                self.shelf.keep_clip(state.key, state.index.model_copy(update={"complete": True}))
                self.progress.end("done")
            self._result(state)
        self.clips.append(state)

    def _broke(self, state: _State, error: Exception) -> None:
        self.progress.end("broke off")
        clip, heard = state.clip, state.heard
        until = heard[-1][0] + _length(state.index) if heard else 0.0
        what = error.what if isinstance(error, EpisodeError) else f"the recogniser failed ({error})"
        remedy = (error.remedy if isinstance(error, EpisodeError) else "") or "Copy the clip again, or leave it out."
        if until:
            what = f"the sound could be heard only until {_clock(until)} of {_clock(clip.duration)}: {what}"
        self.problems.append(Problem(where=clip.name, what=what, remedy=remedy, level="error"))
        if heard:
            self._result(state)
        else:
            state.hearing = Hearing(clip=clip.name, how="failed")
        self.clips.append(state)

    def _from_file(self, clip: Clip, path: Path) -> tuple[Hearing, Sequence[Segment]]:
        try:
            segments, problems = read_subtitles(path, clip.name, clip.duration or None)
        except UnusableInput as error:
            self._failed(clip, error)
            return Hearing(clip=clip.name, how="failed"), ()
        self.problems += problems
        return Hearing(clip=clip.name, how="transcript file"), segments

    def _result(self, state: _State) -> None:
        clip = state.clip
        state.segments = _placed(clip, state.heard)
        hearing = Hearing(clip=clip.name, how="recognised", model=self.name, language=state.index.language)
        state.hearing = hearing if state.heard else Hearing(clip=clip.name, how="no sound")

    def _failed(self, clip: Clip, error: Exception) -> None:
        what, remedy = (error.what, error.remedy) if isinstance(error, EpisodeError) else (str(error), "")
        where = f"{clip.name}: {error.where}" if isinstance(error, EpisodeError) and error.where else clip.name
        self.problems.append(Problem(where=where, what=what, remedy=remedy, level="error"))


def _language(item: _Item) -> str | None:
    """The language that was found; what went wrong is told where the item is taken."""
    try:
        return item.result().language
    except Exception:
        return None


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
