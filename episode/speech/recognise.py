"""The recogniser: sound in, words with times and probabilities out.

Weights and network are those of Whisper (Radford and others 2022, "Robust Speech Recognition via Large-Scale
Weak Supervision"), run by faster-whisper on CTranslate2. Decoding here never samples, so that the same sound
gives the same words; where the search loops, the stretch is searched once more with repeats forbidden.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, Literal

from episode.crew import processors
from episode.errors import MissingModel, UnusableInput
from episode.models import Share, Value
from episode.progress import Progress, Quiet
from episode.speech.edges import drawn_in, voiced
from episode.speech.tokenizer import repaired
from episode.speech.weights import Weights, find_weights

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

RATE = 16_000
"""Samples a second of every sound given to the recogniser."""
LOOPING = 2.4
"""Text that zlib shrinks by more than this repeats itself: the recogniser's own published threshold."""
FASTEST = 35.0
"""Characters a second that nobody speaks (fast speech has about 25; common practice, no source)."""
DOUBTFUL = 0.35
"""Mean probability of words below which what nobody could have said is taken as made up."""


WORDLESS_S = 1.5
"""Speech this long without a word is listened to by itself."""
MARGIN_S = 0.3
LEAST_SURE = -0.8
"""Mean log probability of tokens from which what is heard there is believed."""
MOST_HANDS = 8
GPU_HANDS = 4
"""Calls that a graphics card is given at once, so that it does not wait for this side."""


class Recogniser(Value):
    """Everything that changes what is heard, apart from the sound and the weights.

    ``language`` is an ISO 639-1 code, or ``auto`` to let the first speech of a clip decide. ``speech_at`` is
    the probability of speech (Silero) from which sound is listened to; ``silence_ms`` is how long a silence
    must be to be left out.
    """

    language: str = "en"
    beam_size: int = 5
    speech_at: Share = 0.5
    silence_ms: int = 2000
    compute: Literal["int8", "float16", "float32"] = "int8"


class HeardWord(Value):
    """A word as the recogniser gave it, seconds from the start of the sound."""

    start: float
    end: float
    word: str
    probability: float


class HeardSegment(Value):
    """A stretch of speech, seconds from the start of the sound."""

    start: float
    end: float
    text: str
    words: tuple[HeardWord, ...]


class Ear:
    """A recogniser that loads its weights when it first has to listen, and keeps them.

    As many threads as it has ``hands`` may listen at once; the weights are in memory once.
    """

    def __init__(
        self,
        model: str,
        options: Recogniser | None = None,
        *,
        device: str = "cpu",
        fetch: bool = False,
        progress: Progress | None = None,
    ) -> None:
        self.name = model
        self.device = _device(device)
        given = options or Recogniser()
        self.options = given.model_copy(update={"compute": "float16"}) if self.device == "cuda" else given
        self._fetch = fetch
        self._progress = progress or Quiet()
        self._loaded: Any = None
        self._weights: Weights | None = None
        self._lock = threading.RLock()
        self.hands = min(MOST_HANDS, processors()) if self.device == "cpu" else GPU_HANDS

    @property
    def weights(self) -> Weights:
        """The weights that it listens with.

        Raises:
            MissingModel: see ``find_weights``.
        """
        with self._lock:
            if self._weights is None:
                self._weights = find_weights(self.name, fetch=self._fetch, progress=self._progress)
            return self._weights

    @property
    def model(self) -> Any:
        """The loaded ``faster_whisper.WhisperModel``, for those who listen again on their own terms."""
        with self._lock:
            if self._loaded is None:
                self._loaded = _load(self.weights, self.device, self.options, self.hands)
            return self._loaded

    def listen(
        self,
        samples: NDArray[np.float32],
        *,
        language: str | None = None,
        reached: Callable[[float], None] = lambda _: None,
    ) -> tuple[tuple[HeardSegment, ...], str | None]:
        """Hear mono float samples at 16 kHz.

        ``language`` overrides the options. ``reached`` is told, in seconds, how far it has come.
        Gives the segments and the language (``None`` where it was to be found and there was no speech).

        Raises:
            MissingModel: see ``weights``.
            UnusableInput: the weights do not know the language.
        """
        language = language or self.options.language
        if language == "auto" and not self._any_speech(samples):
            return (), None
        self._refuse_language(language)
        segments, info = self._transcribe(samples, language, {})
        speech = voiced(samples, threshold=self.options.speech_at)
        heard: list[HeardSegment] = []
        looping: list[Any] = []
        for segment in segments:
            reached(float(segment.end))
            if segment.compression_ratio > LOOPING:
                looping.append(segment)
                continue
            heard += self._again(samples, looping, info.language)
            looping = []
            heard += _segments([segment], 0.0)
        heard += self._again(samples, looping, info.language)
        heard = self._missed(samples, heard, speech, info.language)
        placed = (_drawn_in(segment, speech) for segment in heard)
        return tuple(segment for segment in placed if not _made_up(segment)), str(info.language)

    def _transcribe(self, samples: NDArray[np.float32], language: str, more: dict[str, Any]) -> tuple[Any, Any]:
        found: tuple[Any, Any] = self.model.transcribe(
            samples,
            language=None if language == "auto" else language,
            beam_size=self.options.beam_size,
            temperature=[0.0],  # the usual fallbacks draw lots
            condition_on_previous_text=False,  # pieces stay independent, and loops do not spread
            word_timestamps=True,
            vad_filter=True,
            vad_parameters={
                "threshold": self.options.speech_at,
                "min_silence_duration_ms": self.options.silence_ms,
            },
            **more,
        )
        return found

    def _again(self, samples: NDArray[np.float32], looping: list[Any], language: str) -> list[HeardSegment]:
        """Search a looping stretch once more with repeats forbidden; leave it out if it loops still."""
        if not looping:
            return []
        start = min(segment.start for segment in looping)
        end = max(segment.end for segment in looping)
        stretch = samples[int(start * RATE) : int(end * RATE) + 1]
        if len(stretch) < RATE // 10:
            return []
        segments, _ = self._transcribe(stretch, language, {"no_repeat_ngram_size": 4, "repetition_penalty": 1.1})
        return _segments([segment for segment in segments if segment.compression_ratio <= LOOPING], start)

    def _missed(
        self,
        samples: NDArray[np.float32],
        heard: list[HeardSegment],
        speech: Sequence[tuple[float, float]],
        language: str,
    ) -> list[HeardSegment]:
        """Listen by itself to speech for which no word was written, and put in what is heard there.

        The recogniser now and then ends a window after its first sentence and goes on with the next window.
        """
        for start, end in _wordless(heard, speech):
            stretch = samples[max(0, int((start - MARGIN_S) * RATE)) : int((end + MARGIN_S) * RATE)]
            segments, _ = self._transcribe(stretch, language, {})
            sure = [s for s in segments if s.compression_ratio <= LOOPING and s.avg_logprob > LEAST_SURE]
            heard = heard + [
                segment
                for segment in _segments(sure, max(0.0, start - MARGIN_S))
                if start - MARGIN_S <= (segment.start + segment.end) / 2 <= end + MARGIN_S
            ]
        return sorted(heard, key=lambda segment: (segment.start, segment.end))

    def _any_speech(self, samples: NDArray[np.float32]) -> bool:
        from faster_whisper.vad import VadOptions, get_speech_timestamps

        return bool(get_speech_timestamps(samples, VadOptions(threshold=self.options.speech_at)))

    def _refuse_language(self, language: str) -> None:
        known = self.model.supported_languages
        if language != "auto" and language not in known:
            raise UnusableInput(
                f"the model {self.name} does not know the language {language!r}",
                where="language",
                remedy="Use the model base, or set language to one of: " + ", ".join(sorted(known)) + ".",
            )


def _device(device: str) -> str:
    if device == "cpu":
        return device
    import ctranslate2

    present = ctranslate2.get_cuda_device_count() > 0
    if device == "auto":
        return "cuda" if present else "cpu"
    if device == "cuda" and present:
        return device
    what = "no CUDA device is ready on this machine" if device == "cuda" else "no such device"
    raise UnusableInput(what, where=f"device {device}", remedy="Use cpu, or auto.")


def _load(weights: Weights, device: str, options: Recogniser, hands: int) -> Any:
    import tokenizers
    from faster_whisper import WhisperModel

    try:
        model = WhisperModel(
            str(weights.folder),
            device=device,
            compute_type=options.compute,
            cpu_threads=max(1, processors() // hands),
            num_workers=hands,
            local_files_only=True,
        )
        given = (weights.folder / "tokenizer.json").read_bytes()
        mended = repaired(given)
    except (RuntimeError, ValueError, OSError) as error:
        raise MissingModel(
            f"the weights cannot be loaded ({error})",
            where=str(weights.folder),
            remedy="Check them with: episode doctor",
        ) from error
    if mended is not given:
        model.hf_tokenizer = tokenizers.Tokenizer.from_buffer(mended)
    return model


def _segments(segments: Iterable[Any], offset: float) -> list[HeardSegment]:
    found = []
    for segment in segments:
        words = tuple(
            HeardWord(
                start=float(word.start) + offset,
                end=float(word.end) + offset,
                word=word.word,
                probability=float(word.probability),
            )
            for word in segment.words or ()
            if word.word.strip()
        )
        if words:
            found.append(
                HeardSegment(
                    start=float(segment.start) + offset,
                    end=float(segment.end) + offset,
                    text=segment.text.strip(),
                    words=words,
                )
            )
    return found


def _drawn_in(segment: HeardSegment, speech: Sequence[tuple[float, float]]) -> HeardSegment:
    words = []
    for word in segment.words:
        start, end = drawn_in(word.start, word.end, speech)
        words.append(word.model_copy(update={"start": start, "end": end}))
    return segment.model_copy(update={"start": words[0].start, "end": words[-1].end, "words": tuple(words)})


def _wordless(heard: Sequence[HeardSegment], speech: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Where `WORDLESS_S` or more of speech lies between two words, in seconds."""
    edges = [0.0, *(edge for segment in heard for word in segment.words for edge in (word.start, word.end)), math.inf]
    found = []
    for before, after in zip(edges[::2], edges[1::2], strict=True):
        inside = [(max(start, before), min(end, after)) for start, end in speech if start < after and end > before]
        if sum(end - start for start, end in inside) >= WORDLESS_S:
            found.append((inside[0][0], inside[-1][1]))
    return found


def _made_up(segment: HeardSegment) -> bool:
    """Told from speech by both signs together: hardly believed, and too much text for its time.

    The recogniser closes silence and the last breath of a stretch with stock phrases ("Thanks.").
    """
    mean = sum(word.probability for word in segment.words) / len(segment.words)
    return mean < DOUBTFUL and len(segment.text) > FASTEST * (segment.end - segment.start)
