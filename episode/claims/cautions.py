"""What law, permit or safety may have to do with. Pointers to who decides; never advice to keep or to move."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from episode.claims.caution_rules import Rule, rules, words_of
from episode.claims.cues import says
from episode.claims.scenes import Scene, scenes
from episode.claims.treasure import Find, treasure_cases
from episode.models import Caution, LogEntry, Mention, Moment, Settings, Stance, Transcript
from episode.record.dates import read_dates
from episode.record.load import Record, name_key

_HERE = (Stance.FOUND, Stance.UNSURE, Stance.EARLIER)
_SPOKEN = ("remains", "ordnance", "wreck", "ivory", "sharps", "tide")
_LOOSE = frozenset({"sharps", "tide"})
"""Cautions of the place: any talk of it is reason enough."""
_PAST = re.compile(
    r"\b(?:fell|dropped|landed|sank|were buried|was buried|used to|in the war|during the war|years ago)\b", re.I
)

_STILL = re.compile(r"\bnot (?:sure|certain|touching|going to touch|moving)\b|\bdon['’]t (?:touch|know|want)\b", re.I)
_AT_HAND = re.compile(
    r"\b(?:this|that|it|it['’]s|that['’]s|here|here['’]s|found|looks?|these|those|they['’]re|there['’]s|got|i)\b", re.I
)


def cautions(
    transcript: Transcript,
    mentions: Sequence[Mention],
    moments: Sequence[Moment],
    log: Sequence[LogEntry],
    record: Record,
    settings: Settings,
) -> tuple[Caution, ...]:
    """The day's cautions, one of each case, with the moments and finds that gave rise to it.

    Rules, their dates of force and their texts are data; which apply depends on the jurisdiction and on the
    day of filming. Nothing here says that something is treasure, wreck or live: it says who can tell.
    """
    day = settings.date or _filmed(moments, log)
    known = rules(_jurisdiction(settings), day)
    shown = scenes(transcript, mentions, moments)
    found = [*_treasure(known, shown, moments, log, record, day, settings.convention)]
    found += _spoken(known, shown, moments, log)
    found += _permit(known, shown, settings)
    return tuple(found)


def _filmed(moments: Sequence[Moment], log: Sequence[LogEntry]) -> date:
    """The day as moments or the log have it; the rules of today where nothing says."""
    times = [m.at for m in moments] + [e.time for e in log if e.time is not None]
    return min(times).date() if times else date.today()


def _jurisdiction(settings: Settings) -> str:
    said = name_key(settings.jurisdiction)
    for name, words in (
        ("northern ireland", ("northern ireland", "ni")),
        ("scotland", ("scotland", "scottish")),
        ("wales", ("wales", "welsh", "cymru")),
        ("england", ("england", "english", "england and wales")),
    ):
        if said in words:
            return name
    return "elsewhere"


def _treasure(
    known: list[Rule],
    shown: list[Scene],
    moments: Sequence[Moment],
    log: Sequence[LogEntry],
    record: Record,
    day: date,
    convention: str,
) -> list[Caution]:
    finds = _finds(shown, moments, log, record, day, convention)
    cases = treasure_cases(finds, day.year)
    found = []
    for rule in (r for r in known if r.kind == "treasure"):
        if rule.case == "every find":
            concerned = finds
        elif rule.case == "hoard":
            heard = [s for s in shown if rule.heard(s.text) and _in_earnest(s, loose=False)]
            if heard:
                found.append(_caution(rule, [s.moment for s in heard if s.moment]))
            continue
        else:
            concerned = cases.get(rule.case, [])
        if concerned or (rule.case == "every find" and _jurisdictional(rule)):
            found.append(
                Caution(
                    kind="treasure",
                    text=rule.text,
                    source=record.reference(rule.source) if rule.source else "",
                    moments=tuple(dict.fromkeys(f.moment for f in concerned if f.moment)),
                    finds=tuple(dict.fromkeys(f.find for f in concerned if f.find)),
                )
            )
    return found


def _jurisdictional(rule: Rule) -> bool:
    return "elsewhere" in rule.jurisdictions


def _finds(
    shown: list[Scene],
    moments: Sequence[Moment],
    log: Sequence[LogEntry],
    record: Record,
    day: date,
    convention: str,
) -> list[Find]:
    """Every object found on the day, from its moments and its log row, with what was said of material and age."""
    rows = {entry.find: entry for entry in reversed(log)}
    found: dict[str, Find] = {}
    told: dict[str, list[Scene]] = {}
    for scene in shown:
        if scene.inside and scene.moment is not None:
            told.setdefault(scene.moment.id, []).append(scene)
    for moment in moments:
        if moment.stance not in _HERE:
            continue
        entry = rows.pop(moment.find, None) if moment.find else None
        said = told.get(moment.id, [])
        key = moment.find or moment.id
        find = _find(moment, entry, said, record, day, convention)
        if key in found:
            find = found[key].joined(find)
        found[key] = find
    for number, entry in rows.items():
        if number not in found:
            found[number] = _find(None, entry, [], record, day, convention)
    return list(found.values())


def _find(
    moment: Moment | None, entry: LogEntry | None, said: list[Scene], record: Record, day: date, convention: str
) -> Find:
    names = [m for m in ((moment.term if moment else None), entry.object if entry else None) if m]
    materials = {name_key(entry.material)} if entry and entry.material else set()
    spans: list[tuple[int | None, int | None]] = []
    if entry and (entry.from_ is not None or entry.to is not None):
        spans.append((entry.from_, entry.to))
    elif entry and entry.period:
        spans += [(s.from_, s.to) for s in read_dates(entry.period, filmed=day, convention=convention)]
    for scene in said:
        for placed in scene.mentions:
            if placed.mention.stance in _HERE:
                names.append(placed.mention.term)
                if placed.mention.kind.value == "material":
                    materials.add(name_key(placed.mention.term))
        materials |= {w for w in words_of("precious") if _says_made_of(scene.text, w)}
        if not spans and not says("hoped", scene.text) and not says("negated", scene.text):
            spans += [(s.from_, s.to) for s in read_dates(scene.text, filmed=day, convention=convention)]
    if not spans:
        facts = [f for name in names for f in record.about(name) if f.topic == "range"]
        spans += [(f.from_, f.to) for f in facts]
    return Find(
        find=entry.find if entry else (moment.find or "" if moment else ""),
        moment=moment.id if moment else "",
        names=tuple(name_key(n) for n in names),
        materials=frozenset(materials),
        period=name_key(entry.period) if entry else "",
        earliest=min((s[0] for s in spans if s[0] is not None), default=None),
        latest=max((s[1] for s in spans if s[1] is not None), default=None),
    )


def _says_made_of(text: str, metal: str) -> bool:
    says_so = r"(?:it['’]?s|that['’]?s|this is|made of|solid|pure|it is|definitely|is)"
    said = rf"\b{says_so}\s+(?:\w+\s+)?{re.escape(metal)}\b(?!\s+(?:colou?r|plate))"
    return bool(re.search(said, text, re.I)) and not says("negated", text)


def _spoken(known: list[Rule], shown: list[Scene], moments: Sequence[Moment], log: Sequence[LogEntry]) -> list[Caution]:
    found = []
    for rule in (r for r in known if r.kind in _SPOKEN and r.trigger is not None):
        heard = [s for s in shown if rule.heard(s.text) and _in_earnest(s, loose=rule.kind in _LOOSE)]
        logged = (
            [e for e in log if rule.heard(f"{e.object}; {e.material}; {e.notes}")] if rule.kind not in _LOOSE else []
        )
        if not heard and not logged:
            continue
        caution = _caution(rule, [] if rule.kind in _LOOSE else [s.moment for s in heard if s.moment and s.inside])
        numbers = tuple(dict.fromkeys((*caution.finds, *(e.find for e in logged))))
        of_logged = tuple(m.id for m in moments if m.find and m.find in {e.find for e in logged})
        found.append(
            caution.model_copy(
                update={"finds": numbers, "moments": tuple(dict.fromkeys((*caution.moments, *of_logged)))}
            )
        )
    return found


def _in_earnest(scene: Scene, *, loose: bool) -> bool:
    """Said of something here, and not hoped for, denied, or told of the past."""
    if loose:
        return True
    text = scene.text
    if says("hoped", text) or _PAST.search(text):
        return False
    if says("negated", text) and not _STILL.search(text):
        return False
    if any(p.mention.stance in {Stance.COMPARED, Stance.ABSENT, Stance.HOPED} for p in scene.mentions):
        return False
    return scene.inside or bool(_AT_HAND.search(text))


def _caution(rule: Rule, concerned: Sequence[Moment]) -> Caution:
    return Caution(
        kind=rule.kind,
        text=rule.text,
        moments=tuple(dict.fromkeys(m.id for m in concerned)),
        finds=tuple(dict.fromkeys(m.find for m in concerned if m.find)),
        source=rule.reference,
    )


def _permit(known: list[Rule], shown: list[Scene], settings: Settings) -> list[Caution]:
    found = []
    place = f"{settings.place}; {settings.title}"
    for rule in (r for r in known if r.kind == "permit"):
        if rule.trigger is None:
            if not settings.disclosures.permit.strip():
                found.append(_caution(rule, ()))
        elif rule.heard(place) or any(rule.heard(s.text) for s in shown if says("existential", s.text)):
            found.append(_caution(rule, ()))
    return found
