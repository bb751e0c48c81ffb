"""Captions for upload: readable lines by published guidelines, nothing of what was said left out.

Figures and their sources: ``vocab/rules/caption_rules.csv`` (the BBC's Subtitle Guidelines, with two others where they
are silent). Captions break where a sentence ends, else at punctuation, before a conjunction or preposition, and not
after an article (the same guidelines). Speech is given word for word, so that speech faster than people read stays
fast, except that a caption may stay into the silence after it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from episode.drafting.caption_rules import CaptionRules, caption_rules
from episode.drafting.outgoing import one_line
from episode.drafting.timeline import starts
from episode.models import Clip, Seconds, Settings, Transcript, Value, Word
from episode.speech.sentences import Sentence, sentences
from episode.speech.withheld import withhold

_STOP = re.compile(r"[.?!…][\"'”’)\]]*$")
_CLAUSE = re.compile(r"[,;:–—-][\"'”’)\]]*$")
_BEFORE = frozenset(
    "and but or so because when where which who that if then while although though as than until since "
    "in on at to from with by of for about into over under between through after before".split()
)
"""Conjunctions and prepositions: a line may begin with one."""
_NEVER_AFTER = frozenset(
    "a an the this that these those my your his her its our their some any no every in on at to from with by of for "
    "about into over under and but or so if i you he she it we they is are was were be been am have has had do does "
    "did will would can could should may might must not very quite i'm it's i've we've there's that's".split()
)
"""Words that lean on the next one: a line should not end with one."""
_PAUSE_S = 0.5


class Caption(Value):
    """A caption: seconds on its time line, and one or two lines of plain text."""

    start: Seconds
    end: Seconds
    lines: tuple[str, ...]


def captions(transcript: Transcript, clips: Sequence[Clip], settings: Settings) -> tuple[Caption, ...]:
    """Captions on the programme's timeline, in order and without overlap, private places withheld."""
    begin = starts(clips)
    spoken: dict[str, list[Sentence]] = {}
    for sentence in sentences(withhold(_within(transcript, clips), settings)):
        spoken.setdefault(sentence.clip, []).append(sentence)
    found: list[Caption] = []
    for clip in clips:
        for one in _of_clip(spoken.get(clip.name, ()), clip):
            at, until = one.start + begin[clip.name], one.end + begin[clip.name]
            at = max(at, found[-1].end if found else 0.0)
            found.append(Caption(start=round(at, 3), end=round(max(until, at + 0.001), 3), lines=one.lines))
    return tuple(found)


def clip_captions(transcript: Transcript, clip: Clip, settings: Settings) -> tuple[Caption, ...]:
    """Captions of one clip, in its own seconds, as ``captions`` gives them."""
    return captions(transcript, (clip,), settings)


def to_vtt(found: Iterable[Caption]) -> str:
    """The captions as WebVTT (W3C): numbered cues, ``&``, ``<`` and ``>`` escaped."""
    blocks = [
        f"{number}\n{_time(one.start, '.')} --> {_time(one.end, '.')}\n{_escaped(chr(10).join(one.lines))}\n"
        for number, one in enumerate(found, start=1)
    ]
    return "\n".join(["WEBVTT\n", *blocks])


def to_srt(found: Iterable[Caption]) -> str:
    """The captions as SubRip text (no standard; form: common practice, no source). Its tags have no escape."""
    blocks = [
        f"{number}\n{_time(one.start, ',')} --> {_time(one.end, ',')}\n{_untagged(chr(10).join(one.lines))}\n"
        for number, one in enumerate(found, start=1)
    ]
    return "\n".join(blocks)


def _within(transcript: Transcript, clips: Sequence[Clip]) -> Transcript:
    names = {clip.name for clip in clips}
    return transcript.model_copy(update={"segments": tuple(s for s in transcript.segments if s.clip in names)})


def _of_clip(spoken: Iterable[Sentence], clip: Clip) -> list[Caption]:
    rules = caption_rules()
    words: list[Word] = []
    last: set[int] = set()
    for sentence in spoken:
        words += [piece for word in sentence.words for piece in _narrow(word, rules)]
        last.add(len(words) - 1)
    cues = [cue for run in _runs(words, last, rules) for cue in _split(run, rules)]
    return _timed(cues, clip, rules)


def _narrow(word: Word, rules: CaptionRules) -> Iterator[Word]:
    """The word without what cannot be seen, or its pieces where it has spaces in it or is wider than a line."""
    wide = rules.line_length
    parts = [part[at : at + wide] for part in one_line(word.word).split() for at in range(0, len(part), wide)]
    step = max(0.0, word.end - word.start) / max(1, len(parts))
    for number, part in enumerate(parts):
        start = word.start + step * number
        yield Word(start=start, end=start + step, word=part, probability=word.probability)


_Run = list[tuple[Word, bool]]
"""Words that are spoken without a long silence; whether each is the last of its sentence."""


def _runs(words: Sequence[Word], last: set[int], rules: CaptionRules) -> Iterator[_Run]:
    run: _Run = []
    for index, word in enumerate(words):
        if run and word.start - run[-1][0].end > rules.hang_s:
            yield run
            run = []
        run.append((word, index in last))
    if run:
        yield run


def _split(run: _Run, rules: CaptionRules) -> Iterator[list[Word]]:
    """The run cut into captions so that the sum of what is wrong with each is least (dynamic programming)."""
    best: list[tuple[float, int]] = [(0.0, 0)]
    for end in range(1, len(run) + 1):
        options: list[tuple[float, int]] = []
        for start in range(end - 1, -1, -1):
            words = [word for word, _ in run[start:end]]
            single = end - start == 1
            if not single and (not _fits(words, rules) or words[-1].end - words[0].start > rules.longest_s):
                break
            options.append((best[start][0] + _faults(run, start, end, rules), start))
        best.append(min(options))
    cuts, at = [], len(run)
    while at:
        cuts.append((best[at][1], at))
        at = best[at][1]
    for start, end in reversed(cuts):
        yield [word for word, _ in run[start:end]]


def _fits(words: Sequence[Word], rules: CaptionRules) -> bool:
    return _laid_out(tuple(word.word for word in words), rules.line_length, rules.lines) is not None


def _faults(run: _Run, start: int, end: int, rules: CaptionRules) -> float:
    """How bad a caption of these words is; weights are our own choice."""
    words = [word for word, _ in run[start:end]]
    following = run[end][0] if end < len(run) else None
    faults = 1.0 + (0.0 if run[end - 1][1] else _break(words[-1], following))
    faults += 1.5 * sum(stop for _, stop in run[start : end - 1])  # a caption is best a single sentence
    begun = start > 0 and not run[start - 1][1]
    if len(words) == 1 and (begun or not run[end - 1][1]):
        faults += 6.0  # an orphan
    free = rules.hang_s if following is None else min(rules.hang_s, following.start - words[-1].end)
    length = words[-1].end - words[0].start + max(0.0, free)
    needed = len(words) * 60 / rules.speed
    faults += 4.0 * max(0.0, rules.shortest_s - length) + 3.0 * max(0.0, needed - length) / max(needed, 0.1)
    if len(words) * 60 / rules.fastest > length:
        faults += 4.0
    return faults


def _break(word: Word, following: Word | None) -> float:
    """What it costs to break after ``word`` inside a sentence: least at punctuation or a pause."""
    cost = _text_break(word.word, following.word if following else "")
    pause = following.start - word.end if following else _PAUSE_S
    return cost * (0.5 if pause >= _PAUSE_S else 1.0)


@lru_cache(maxsize=20_000)
def _text_break(word: str, following: str) -> float:
    if _STOP.search(word):
        return 0.0
    if _CLAUSE.search(word):
        return 1.0
    plain = word.strip("\"'“”‘’(").casefold()
    if plain in _NEVER_AFTER:
        return 6.0
    if following.casefold() in _BEFORE:
        return 2.0
    # Words with capitals next to each other are likely one name.
    return 5.0 if word[:1].isupper() and following[:1].isupper() else 4.0


@lru_cache(maxsize=4_000)
def _laid_out(words: tuple[str, ...], wide: int, most: int) -> tuple[str, ...] | None:
    """One line if it fits, else two broken at the best place, the second rather the longer; ``None``: too long."""
    whole = " ".join(words)
    if len(whole) <= wide:
        return (whole,)
    if most < 2 or len(whole) > 2 * wide + 1:
        return None
    options = []
    for at in range(1, len(words)):
        first, second = " ".join(words[:at]), " ".join(words[at:])
        if max(len(first), len(second)) <= wide:
            lonely = 3.0 * (at == 1) + 3.0 * (at == len(words) - 1)
            shape = abs(len(first) - len(second)) / 10 + 0.5 * (len(first) > len(second))
            options.append((_text_break(words[at - 1], words[at]) + lonely + shape, at, (first, second)))
    return min(options)[2] if options else None


def _timed(cues: Sequence[list[Word]], clip: Clip, rules: CaptionRules) -> list[Caption]:
    """Captions with their times: each stays as long as it takes to read, as far as the next one and the hang allow.

    A short gap is closed under the same limits.
    """
    found: list[Caption] = []
    for number, words in enumerate(cues):
        start = max(words[0].start, found[-1].end if found else 0.0)
        spoken = max(start, words[-1].end)
        after = cues[number + 1][0].start if number + 1 < len(cues) else max(spoken, clip.duration)
        room = max(spoken, min(after, spoken + rules.hang_s))
        end = min(room, max(spoken, start + rules.shortest_s, start + len(words) * 60 / rules.speed))
        if after - end < rules.close_s and after <= room:
            end = after
        end = min(end, max(spoken, start + rules.longest_s))
        end = max(end, start + 0.001)
        text = tuple(word.word for word in words)
        lines = _laid_out(text, rules.line_length, rules.lines)
        found.append(Caption(start=round(start, 3), end=round(end, 3), lines=lines or text))
    return found


def _time(at: Seconds, mark: str) -> str:
    thousandths = round(at * 1000)
    seconds, rest = divmod(thousandths, 1000)
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}{mark}{rest:03d}"


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _untagged(text: str) -> str:
    return text.replace("<", "‹").replace(">", "›").replace("{", "(").replace("}", ")")
