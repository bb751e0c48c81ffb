"""What is said of the moon, and of spring and neap tides, on a day that can be told."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from episode.claims.cues import says
from episode.claims.scenes import Scene
from episode.claims.statements import Statement
from episode.claims.verdicts import Finding
from episode.models import DateSpan, Evidence, Grade, Settings, Verdict
from episode.record.load import Record
from episode.record.moon import Phase, PhaseName, nearest_phase

ASPECT = "moon"
LAG_DAYS = 2.0
"""Springs come two days after new and full moon on average, none to four by place (UK Hydrographic Office)."""
GIVE_DAYS = 2.0
SPRINGS_DAYS = 3.0
"""Tides this close to the largest are still called springs: common practice, no source."""
MOON_DAY, MOON_LOOK = 1.0, 2.5
"""From noon: the day of a phase wherever it is filmed, and as long as the moon looks like it (common practice)."""
_UNITED_KINGDOM = frozenset({"england", "wales", "scotland", "northern ireland", "england and wales", "uk"})

_SAID = re.compile(
    r"\b(?P<what>(?:spring|neap)(?:s|[ -]tides?)(?! of\b| clean| water| line| season)|(?:full|new|half)[ -]moon(?! shape| button| clip| key| pin))\b",
    re.IGNORECASE,
)
_WHEN = (
    (re.compile(r"\b(?:last night|yesterday)\b", re.IGNORECASE), -1),
    (re.compile(r"\btomorrow\b", re.IGNORECASE), 1),
    (re.compile(r"\b(?:today|tonight|this (?:morning|afternoon|evening)|right now|at the moment)\b", re.IGNORECASE), 0),
    (re.compile(r"\b(?:it['’]?s|it is|there['’]?s|we['’]?ve got|that['’]?s)(?: \w+){0,3}\s*$", re.IGNORECASE), 0),
)
_LOOSE = re.compile(
    r"\b(?:next|coming|another|every|always|usually|normally|only|best|when|if|until|wait)\b", re.IGNORECASE
)
_PHASES: dict[str, tuple[PhaseName, ...]] = {
    "full": ("full moon",),
    "new": ("new moon",),
    "half": ("first quarter", "last quarter"),
    "spring": ("new moon", "full moon"),
    "neap": ("first quarter", "last quarter"),
}


def moon_statements(scene: Scene, spans: Sequence[DateSpan], *, filmed: date | None) -> Iterator[Statement]:
    """The first tide or moon said of a day: one that the sentence dates to the day, or the day of filming.

    Talk of tides in general, questions, hopes and what is denied are no claims.
    """
    text = scene.text
    said = _SAID.search(text)
    if said is None or text.rstrip().endswith("?") or any(says(cue, text) for cue in ("hoped", "conditional")):
        return
    if says("negated", text[max(0, said.start() - 24) : said.start()]):
        return
    dated = next((s for s in spans if re.fullmatch(r"\d{4}-\d\d-\d\d", s.edtf)), None)
    if dated is None:
        day = None if filmed is None or _LOOSE.search(text[: said.start()]) else _day(text, said, filmed)
        if day is None:
            return
        dated = DateSpan(
            text=said.group(), at=said.start(), until=said.end(), from_=day.year, to=day.year,
            edtf=day.isoformat(), kind="year",
        )  # fmt: skip
    at, until = min(said.start(), dated.at), max(said.end(), dated.until)
    yield Statement(scene, "date", at, until, None, aspect=ASPECT, span=dated, value=said.group("what").lower())


def _day(text: str, said: re.Match[str], filmed: date) -> date | None:
    before, after = text[: said.start()], text[said.end() :]
    for words, days in _WHEN:
        if words.search(before) or (not words.pattern.endswith("$") and words.search(after)):
            return filmed + timedelta(days=days)
    return None


def judge_moon(statement: Statement, record: Record, settings: Settings) -> Finding:
    """The verdict by the moon's phase: of a moon by its day, of a tide by the rule of thumb that springs lag.

    A tide is contradicted only where no lag of none to four days lets it be, and in the United Kingdom only:
    elsewhere tides may follow other rules.
    """
    kind = re.split(r"[ -]|s$", statement.value)[0]
    year, month, day = (int(part) for part in (statement.span.edtf if statement.span else "").split("-"))
    phase = nearest_phase((year, month, day), _PHASES[kind])
    if phase is None:
        return Finding(Verdict.UNREFERENCED, (), "too far back to compute the moon's phase to the day")
    evidence = [
        Evidence(statement=f"{phase.name}: {phase.when}", source=record.reference("ephem"), from_=year, to=year)
    ]
    if kind in {"full", "new", "half"}:
        return Finding(_moon(abs(phase.days)), tuple(evidence), f"the nearest {phase.name} was on {phase.when}")
    evidence.append(
        Evidence(
            statement="Springs follow new and full moon by two days on average, by none to four in places",
            source=record.reference("ukho-easytide"),
            grade=Grade.SECONDARY,
        )
    )
    known = settings.jurisdiction.strip().casefold() in _UNITED_KINGDOM
    return Finding(_tide(phase, known=known), tuple(evidence), _why(kind, phase))


def _moon(days: float) -> Verdict:
    if days <= MOON_DAY:
        return Verdict.SUPPORTED
    return Verdict.IMPRECISE if days <= MOON_LOOK else Verdict.CONTRADICTED


def _tide(phase: Phase, *, known: bool) -> Verdict:
    off = abs(phase.days - LAG_DAYS)
    if off <= SPRINGS_DAYS and known:
        return Verdict.SUPPORTED
    return Verdict.CONTRADICTED if off > SPRINGS_DAYS + GIVE_DAYS and known else Verdict.UNREFERENCED


def _why(kind: str, phase: Phase) -> str:
    days = round(abs(phase.days))
    side = "after" if phase.days >= 0 else "before"
    when = f"{days} day{'' if days == 1 else 's'} {side}" if days else "the day of"
    return (
        f"it is {when} the nearest {phase.name} ({phase.when}); by rule of thumb {kind} tides come about two days "
        "after; the tide table decides"
    )
