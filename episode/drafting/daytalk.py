"""What was said of the day itself: the tide, the weather, what was hoped for, the favourite find.

Each comes with where it was said. The phrases are in ``vocab/rules/day_talk.csv``; tide and weather count only in the
opening words, before the first find is shown, since "it's cold" later on is said of a thing in the hand.
"""

from __future__ import annotations

import csv
import functools
import io
import re

from episode.drafting.result import DayResult
from episode.drafting.timeline import starts
from episode.lexicon.resources import vocab_root
from episode.models import Claim, Moment, Seconds, Stance, Value, Verdict
from episode.speech.sentences import Sentence, sentences_of

OPENING_S = 240.0
"""The opening words are over after this, whatever is shown."""
LONGEST_BOAST = 90
_AROUND_S = 30.0
_SHOWN = frozenset({Stance.FOUND, Stance.EARLIER, Stance.UNSURE})


class Told(Value):
    """Words for the description, and where they were said."""

    words: str
    clip: str
    start: Seconds


class DayTalk(Value):
    """What the day's talk tells of the day; None where nothing was said of it.

    ``favourite`` names the term of the find that was called the favourite; ``hoped`` the moment of what was hoped for
    at the start.
    """

    tide: Told | None = None
    weather: Told | None = None
    favourite: Told | None = None
    hoped: Moment | None = None


def day_talk(day: DayResult) -> DayTalk:
    """What the talk of ``day`` says of the day."""
    opening = _opening(day)
    return DayTalk(
        tide=_first("tide", opening),
        weather=_first("weather", opening),
        favourite=_favourite(day),
        hoped=_hoped(day),
    )


def boast(claim: Claim, *, unverified: str) -> str:
    """What is claimed of a find by who found it ("the oldest thing I have ever found here"), or nothing.

    Nothing either where it is struck or contradicted, or unverified and to be left out.
    """
    if claim.kind != "superlative" or claim.struck or claim.verdict is Verdict.CONTRADICTED:
        return ""
    if unverified == "leave out" and claim.verdict is Verdict.UNREFERENCED and not claim.reference:
        return ""
    said = _search("boast", claim.wording or claim.quote)
    words = said[0]["words"] if said else ""
    return words if len(words) <= LONGEST_BOAST else ""


def _opening(day: DayResult) -> list[Sentence]:
    """The sentences of the first clip's beginning, up to the first find."""
    if not day.clips:
        return []
    first = day.clips[0].name
    shown = min((m.start for m in day.moments if m.clip == first and m.stance in _SHOWN), default=OPENING_S)
    until = min(shown, OPENING_S)
    heard = tuple(s for s in day.transcript.segments if s.clip == first and s.start < until)
    return [s for s in sentences_of(heard) if s.start < until]


def _first(kind: str, said: list[Sentence]) -> Told | None:
    for sentence in said:
        if sentence.text.rstrip().endswith("?"):
            continue
        if found := _search(kind, sentence.text):
            match, says = found
            given = {name: _lowered(words) for name, words in match.groupdict().items() if words}
            at = sentence.words_at(match.start(), match.end())[0].start
            return Told(words=says.format(**given), clip=sentence.clip, start=at)
    return None


def _favourite(day: DayResult) -> Told | None:
    """The term that is named beside the last "my favourite", where it is a find of the day."""
    mentions = [n for m in day.moments for n in m.mentions]
    shown = {t for m in day.moments if m.stance in _SHOWN for t in (m.term, *(n.term for n in m.mentions))}
    segments = day.transcript.segments
    for segment in reversed(segments):
        if not any(pattern.search(segment.text) for pattern, _, _ in _rules()["favourite"]):
            continue
        near = tuple(s for s in segments if s.clip == segment.clip and abs(s.start - segment.start) < _AROUND_S)
        for sentence in reversed(sentences_of(near)):
            if found := _search("favourite", sentence.text):
                at = sentence.words_at(found[0].start(), found[0].end())[-1].start
                within = [n for n in mentions if n.clip == sentence.clip and sentence.start <= n.start <= sentence.end]
                named = [n for n in within if n.term in shown]
                if best := min(named, key=lambda n: (n.start < at, abs(n.start - at)), default=None):
                    return Told(words=best.term, clip=sentence.clip, start=at)
    return None


def _hoped(day: DayResult) -> Moment | None:
    """What was hoped for before the first find was shown."""
    begins = starts(day.clips)
    placed = [(begins[m.clip] + m.start, m) for m in day.moments if m.clip in begins]
    first = min((at for at, m in placed if m.stance in _SHOWN), default=None)
    if first is None:
        return None
    hopes = [(at, m) for at, m in placed if m.stance is Stance.HOPED and at < first and m.term]
    return min(hopes, key=lambda pair: pair[0])[1] if hopes else None


def _search(kind: str, text: str) -> tuple[re.Match[str], str] | None:
    """The first of a kind's phrases in ``text``, and the words for it."""
    for pattern, never, says in _rules()[kind]:
        found = pattern.search(text)
        if found and not (never and never.search(text)):
            return found, says
    return None


def _lowered(words: str) -> str:
    return words[:1].lower() + words[1:]


@functools.cache
def _rules() -> dict[str, list[tuple[re.Pattern[str], re.Pattern[str] | None, str]]]:
    text = vocab_root().joinpath("rules").joinpath("day_talk.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    parts = {f"<<{row['says']}>>": row["pattern"] for row in rows if row["kind"] == "part"}

    def whole(pattern: str) -> re.Pattern[str]:
        for name, words in parts.items():
            pattern = pattern.replace(name, words)
        return re.compile(pattern, re.IGNORECASE)

    found: dict[str, list[tuple[re.Pattern[str], re.Pattern[str] | None, str]]] = {}
    for row in rows:
        if row["kind"] != "part":
            never = whole(row["never"]) if row["never"] else None
            found.setdefault(row["kind"], []).append((whole(row["pattern"]), never, row["says"]))
    return found
