"""Captions for upload: readable lines by published guidelines, nothing of what was said left out.

Figures and their sources: ``vocab/rules/caption_rules.csv`` (the BBC's Subtitle Guidelines, with two others where they
are silent). Captions break where a sentence ends, else at punctuation, before a conjunction or preposition, and not
after an article (the same guidelines). Speech is given word for word, so that speech faster than people read stays
fast, except that a caption may stay into the silence after it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

from episode.drafting.caption_rules import CaptionRules, caption_rules
from episode.drafting.outgoing import one_line
from episode.drafting.timeline import starts
from episode.models import Clip, Seconds, Settings, Transcript, Value, Word
from episode.once import once_for_the_same
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
    told = captions_by_clip(transcript, clips, settings)
    found: list[Caption] = []
    for clip in clips:
        for one in told[clip.name]:
            at, until = one.start + begin[clip.name], one.end + begin[clip.name]
            at = max(at, found[-1].end if found else 0.0)
            found.append(Caption(start=round(at, 3), end=round(max(until, at + 0.001), 3), lines=one.lines))
    return tuple(found)


@once_for_the_same
def captions_by_clip(
    transcript: Transcript, clips: Sequence[Clip], settings: Settings
) -> dict[str, tuple[Caption, ...]]:
    """Captions of every clip by its name, each in its clip's own seconds, as ``captions`` gives them."""
    spoken: dict[str, list[Sentence]] = {}
    for sentence in sentences(withhold(_within(transcript, clips), settings)):
        spoken.setdefault(sentence.clip, []).append(sentence)
    return {clip.name: tuple(_of_clip(spoken.get(clip.name, ()), clip)) for clip in clips}


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
    if all(segment.clip in names for segment in transcript.segments):
        return transcript
    return transcript.model_copy(update={"segments": tuple(s for s in transcript.segments if s.clip in names)})


class _Said(NamedTuple):
    """A word as a caption has it: seconds in its clip, and whether it is the last of its sentence."""

    start: Seconds
    end: Seconds
    word: str
    last: bool


def _of_clip(spoken: Iterable[Sentence], clip: Clip) -> list[Caption]:
    rules = caption_rules()
    said: list[_Said] = []
    for sentence in spoken:
        said += [piece for word in sentence.words for piece in _narrow(word, rules)]
        if said:
            said[-1] = said[-1]._replace(last=True)
    return _timed([cue for run in _runs(said, rules) for cue in _split(run, rules)], clip, rules)


def _narrow(word: Word, rules: CaptionRules) -> Iterator[_Said]:
    """The word without what cannot be seen, or its pieces where it has spaces in it or is wider than a line."""
    wide = rules.line_length
    parts = [part[at : at + wide] for part in one_line(word.word).split() for at in range(0, len(part), wide)]
    step = max(0.0, word.end - word.start) / max(1, len(parts))
    for number, part in enumerate(parts):
        start = word.start + step * number
        yield _Said(start, start + step, part, last=False)


def _runs(said: Sequence[_Said], rules: CaptionRules) -> Iterator[list[_Said]]:
    """Words that are spoken without a long silence."""
    run: list[_Said] = []
    for one in said:
        if run and one.start - run[-1].end > rules.hang_s:
            yield run
            run = []
        run.append(one)
    if run:
        yield run


def _split(run: list[_Said], rules: CaptionRules) -> Iterator[list[_Said]]:
    """The run cut into captions so that the sum of what is wrong with each is least (dynamic programming).

    Weights are our own choice. Of cuts that are equally good the one with the longer caption is taken.
    """
    reach = _reach(run, rules)
    stops = list(accumulate((one.last for one in run), initial=0))
    best: list[tuple[float, int]] = [(0.0, 0)]
    for end in range(1, len(run) + 1):
        following = run[end] if end < len(run) else None
        until, breaks = run[end - 1].end, 1.0 + _break(run[end - 1], following)
        free = rules.hang_s if following is None else min(rules.hang_s, following.start - until)
        least = (math.inf, end)
        for start in range(end - 1, -1, -1):
            count, length = end - start, until - run[start].start
            if count > 1 and (reach[start] < end or length > rules.longest_s):
                break
            # A caption is best a single sentence.
            faults = breaks + 1.5 * (stops[end - 1] - stops[start])
            begun = start > 0 and not run[start - 1].last
            if count == 1 and (begun or not run[start].last):
                faults += 6.0  # an orphan
            length += max(0.0, free)
            needed = count * 60 / rules.speed
            faults += 4.0 * max(0.0, rules.shortest_s - length) + 3.0 * max(0.0, needed - length) / max(needed, 0.1)
            if count * 60 / rules.fastest > length:
                faults += 4.0
            least = min(least, (best[start][0] + faults, start))
        best.append(least)
    cuts, at = [], len(run)
    while at:
        cuts.append((best[at][1], at))
        at = best[at][1]
    for start, end in reversed(cuts):
        yield run[start:end]


def _reach(run: list[_Said], rules: CaptionRules) -> list[int]:
    """How far a caption that begins with each word can go (the end, as in a slice): what fits its one or two lines.

    A first line that is as long as can be leaves least for the second.
    """
    places = list(accumulate((len(one.word) + 1 for one in run), initial=0))
    line, end = [], 0
    for start in range(len(run)):
        while end < len(run) and places[end + 1] - 1 - places[start] <= rules.line_length:
            end += 1
        line.append(end)
    line.append(len(run))
    return [line[end] if rules.lines > 1 else end for end in line]


def _break(word: _Said, following: _Said | None) -> float:
    """What it costs to break after ``word``: nothing where its sentence ends, else least at punctuation or a pause."""
    if word.last:
        return 0.0
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


def _timed(cues: Sequence[list[_Said]], clip: Clip, rules: CaptionRules) -> list[Caption]:
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
