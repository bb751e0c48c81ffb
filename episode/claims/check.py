"""Every factual claim of the day, with its verdict and what it rests on."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from datetime import date

from episode.claims.arithmetic import arithmetic
from episode.claims.boasts import boasts
from episode.claims.citations import understand
from episode.claims.conventions import by_convention
from episode.claims.dated import dated_statements
from episode.claims.intervals import relation
from episode.claims.named import named_statements
from episode.claims.said import years
from episode.claims.scenes import Scene, scenes
from episode.claims.statements import Statement
from episode.claims.supplied import supplied
from episode.claims.talk import Talk
from episode.claims.tides import ASPECT, judge_moon, moon_statements
from episode.claims.verdicts import Finding, judge_dates
from episode.claims.weighing import judge_words
from episode.claims.within import within
from episode.lexicon.book import Lexicon
from episode.models import Claim, LogEntry, Mention, Moment, Reference, Settings, Transcript
from episode.record.catalogue import catalogue_years
from episode.record.dates import read_dates
from episode.record.load import Record, name_key


def check(
    transcript: Transcript,
    mentions: Sequence[Mention],
    moments: Sequence[Moment],
    log: Sequence[LogEntry],
    record: Record,
    lexicon: Lexicon,
    settings: Settings,
    references: Sequence[Reference] = (),
) -> tuple[Claim, ...]:
    """The claims in the order they were made.

    The same thing said twice of the same object is one claim; its note says where it was said again. Ids
    depend on the clip, the kind and the words, so that they stay when other claims come or go. The record is
    never asked for advice on what the speaker saw: a material or a mark that is read off is ``unreferenced``
    until the person supplies a reference.
    """
    rows = {entry.find: entry for entry in reversed(log)}
    filmed = settings.date or _filmed(moments)
    found: dict[tuple[object, ...], tuple[str, Statement, list[Scene]]] = {}
    used: dict[str, int] = {}
    for statement in _statements(transcript, mentions, moments, rows, record, lexicon, settings, filmed):
        key = _same(statement)
        if key in found:
            found[key][2].append(statement.scene)
        else:
            found[key] = (_id(statement, used), statement, [])
    return within(
        [
            (statement, _claim(name, statement, again, rows, record, lexicon, settings, references, filmed))
            for name, statement, again in found.values()
        ]
    )


def _filmed(moments: Sequence[Moment]) -> date | None:
    return min((m.at for m in moments), default=None).date() if moments else None  # type: ignore[union-attr]


def _statements(
    transcript: Transcript,
    mentions: Sequence[Mention],
    moments: Sequence[Moment],
    rows: dict[str, LogEntry],
    record: Record,
    lexicon: Lexicon,
    settings: Settings,
    filmed: date | None,
) -> Iterator[Statement]:
    talk = Talk()
    for scene in scenes(transcript, mentions, moments):
        dated = talk.resolved(dated_statements(scene, lexicon, filmed=filmed, convention=settings.convention))
        entry = rows.get(scene.moment.find) if scene.moment and scene.moment.find else None
        named = list(named_statements(scene, lexicon, record, entry, dated))
        taken = tuple((s.at, s.until) for s in (*dated, *named))
        of_moon = list(moon_statements(scene, read_dates(scene.text, filmed=filmed), filmed=filmed))
        dated = [d for d in dated if not any(m.at < d.until and d.at < m.until for m in of_moon)]
        every = [*dated, *of_moon, *named, *boasts(scene, lexicon, taken)]
        yield from sorted(every, key=lambda s: (s.at, s.until))


def _same(statement: Statement) -> tuple[object, ...]:
    span = statement.span
    find = statement.scene.moment.find or statement.scene.moment.id if statement.scene.moment else None
    value: object = (span.from_, span.to) if span else name_key(statement.value)
    thing = (statement.about, find if statement.aspect == "made" else None)
    if statement.about is None:
        thing = (statement.scene.text, None)
    return statement.kind, statement.aspect, thing, value


def _id(statement: Statement, used: dict[str, int]) -> str:
    words = "|".join((statement.scene.sentence.clip, statement.kind, statement.about or "", name_key(statement.words)))
    name = "c-" + hashlib.sha256(words.encode()).hexdigest()[:8]
    used[name] = used.get(name, 0) + 1
    return name if used[name] == 1 else f"{name}-{used[name]}"


def _claim(
    name: str,
    statement: Statement,
    again: list[Scene],
    rows: dict[str, LogEntry],
    record: Record,
    lexicon: Lexicon,
    settings: Settings,
    references: Sequence[Reference],
    filmed: date | None,
) -> Claim:
    sentence, moment = statement.scene.sentence, statement.scene.moment
    span = statement.span
    finding = _finding(statement, record, lexicon, settings)
    find = moment.find if moment and statement.about is not None else None
    words = sentence.words_at(statement.at, statement.until)
    reference = supplied(name, statement, references)
    cited = understand(reference.reference) if reference else None
    notes = [finding.why, span.note if span else "", _log_note(statement, rows.get(find or ""), settings, filmed)]
    if span and statement.aspect != ASPECT:
        spans = read_dates(statement.scene.text, filmed=filmed, convention=settings.convention)
        notes += arithmetic(statement.scene.text, span, spans)
        notes.append(by_convention(statement, finding.verdict, record, settings.convention, filmed))
    if cited and cited.problem:
        notes.append(f"the reference in row {reference.row if reference else 0}: {cited.problem}")
    notes += [f"said again in {s.sentence.clip} at {_stamp(s.sentence.start)}" for s in again]
    return Claim(
        id=name,
        clip=sentence.clip,
        start=words[0].start,
        end=max(words[-1].end, words[0].start),
        quote=sentence.text,
        about=statement.about,
        find=find,
        kind=statement.kind,
        edtf=(span.edtf or None) if span else None,
        from_=span.from_ if span else None,
        to=span.to if span else None,
        verdict=finding.verdict,
        evidence=finding.evidence,
        reference=cited.shown if cited else None,
        note="; ".join(note for note in notes if note),
        moment=moment.id if moment and statement.about is not None else None,
        convention=span.convention if span else "",
        aspect=statement.aspect,
    )


def _finding(statement: Statement, record: Record, lexicon: Lexicon, settings: Settings) -> Finding:
    if statement.aspect == ASPECT:
        return judge_moon(statement, record, settings)
    return judge_dates(statement, record) if statement.span else judge_words(statement, record, lexicon)


def _log_note(statement: Statement, entry: LogEntry | None, settings: Settings, filmed: date | None) -> str:
    """Where the claim and the find's own log row disagree."""
    if entry is None or statement.scene.moment is None or statement.about not in {*statement.names, statement.about}:
        return ""
    if statement.kind == "material" and entry.material.strip():
        logged, said = name_key(entry.material), name_key(statement.value)
        return "" if said in logged or logged in said else f"the log gives the material as {entry.material}"
    span = statement.span
    if span is None or statement.aspect not in {"made"}:
        return ""
    logged_years = _logged_years(entry, settings, filmed)
    if logged_years and relation((span.from_, span.to), logged_years) == "apart":
        return (
            f"the log gives {years(*logged_years)} for find {entry.find}; the claim says {years(span.from_, span.to)}"
        )
    return ""


def _logged_years(entry: LogEntry, settings: Settings, filmed: date | None) -> tuple[int | None, int | None] | None:
    if entry.from_ is not None or entry.to is not None:
        return entry.from_, entry.to
    return catalogue_years(entry.period, filmed=filmed, convention=settings.convention)


def _stamp(seconds: float) -> str:
    whole = int(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


__all__ = ["Finding", "check"]
