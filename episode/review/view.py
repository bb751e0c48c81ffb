"""What the page shows, computed before any of it is drawn: plain values, every string fit to go out."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import tzinfo
from itertools import groupby
from urllib.parse import quote
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from episode.day.privacy import blur_grid
from episode.drafting.checked import said_years
from episode.drafting.checklist import checklist
from episode.drafting.description import size
from episode.drafting.naming import is_unknown, name_of
from episode.drafting.outgoing import one_line, outgoing
from episode.drafting.parts.opening import say_day
from episode.drafting.result import DayResult
from episode.drafting.stamps import stamp
from episode.drafting.timeline import total
from episode.drafting.years import say_years
from episode.models import Chapter, Claim, LogEntry, Moment, Problem, Promise, Settings, Stance, Transcript, Verdict
from episode.review.draft_lines import draft_lines
from episode.review.keys import chapter_key, claim_key, moment_key, promise_key
from episode.review.shown import ChapterView, ClaimView, PromiseView, Sheet, Spoken, View
from episode.review.strip import strip
from episode.review.watching import in_film, watch_link
from episode.speech.sentences import Sentence, sentences

_SURE = ((0.85, "sure"), (0.6, "likely"), (0.35, "doubtful"), (0.0, "hardly more than a guess"))
STANCES = {
    Stance.FOUND: "found here",
    Stance.EARLIER: "found another day, shown here",
    Stance.RECAP: "named again in the round-up",
    Stance.ABSENT: "said not to be there",
    Stance.HOPED: "hoped for",
    Stance.COMPARED: "likened to",
    Stance.UNSURE: "a guess at what it is",
    Stance.ASIDE: "talk about the type",
}
_DECIDED = {
    "accept": "looked at, right",
    "reject": "set aside",
    "rename": "named",
    "stance": "stance set",
    "pair": "log row set",
    "split": "split",
    "join": "joined",
    "move": "times set",
    "still": "still chosen",
    "add": "added",
}
WORDINGS = {
    "short.txt": "Short form",
    "description.md": "As Markdown",
    "comment.txt": "A comment to pin below the film",
}
LONGEST_SENTENCE_S = 600.0
NOT_IN_FILM = "not said in the finished film"
_SHEETS = frozenset({Stance.FOUND, Stance.EARLIER, Stance.UNSURE})


Lines = Mapping[str, tuple[Sentence, ...]]


@dataclass(frozen=True)
class Said:
    """The day's sentences by clip, each clip's in order of time: as they were heard, and as they are written."""

    transcript: Transcript
    respelt: Transcript | None
    heard: Lines
    written: Lines


def said_of(day: DayResult, before: Said | None = None) -> Said:
    """What was said, by clip: the costly part of a view, and what ``before`` has of the same is not worked out again."""
    if before is not None and before.transcript is day.transcript and before.respelt is day.respelt:
        return before
    heard = before.heard if before and before.transcript is day.transcript else _lines(day.transcript)
    written = heard if day.respelt is None else _lines(day.respelt)
    return Said(day.transcript, day.respelt, heard, written)


def _lines(transcript: Transcript) -> Lines:
    found: dict[str, list[Sentence]] = {}
    for sentence in sentences(transcript):
        found.setdefault(sentence.clip, []).append(sentence)
    return {clip: tuple(sorted(lines, key=lambda s: s.start)) for clip, lines in found.items()}


def view(day: DayResult, said: Said | None = None) -> View:
    """Everything on the page, as the settings allow it to be shown."""
    settings = day.settings
    zone = time_zone(settings)
    said = said_of(day) if said is None else said
    by_moment: dict[str, list[Claim]] = {}
    for claim in day.claims:
        by_moment.setdefault(claim.moment or "", []).append(claim)
    left = checklist(day)
    film = day.film
    description = film.description if film else day.description
    wordings = film.wordings if film else day.wordings
    return View(
        title=outgoing(settings.title, settings) or "A day's finds",
        date=say_day(day.filmed) if day.filmed else "",
        place=outgoing(settings.place, settings),
        presenter=outgoing(settings.presenter, settings),
        length=f"{stamp(total(day.clips))} in {len(day.clips)} clip{'s' if len(day.clips) != 1 else ''}",
        left=left,
        left_total=sum(item.count for item in left),
        strip=strip(day, zone),
        sheets=[_sheet(m, by_moment.get(m.id, []), day, said, zone) for m in sorted(day.moments, key=lambda m: m.at)],
        general=_general(day, said),
        film=film.picture if film else "",
        film_name=outgoing(film.name, settings) if film else "",
        film_claims=_film_claims(day),
        film_chapters=[_chapter(c, settings) for c in film.chapters] if film else [],
        promises=_promises(day),
        cautions=_cautions(day),
        unlogged=[(m.id, _name(m, day) or "unnamed") for m in day.moments if m.id in day.matched.unlogged],
        unfilmed=[_row(day.entries[f], zone, settings) for f in day.matched.unfilmed if f in day.entries],
        chapters=[_chapter(c, settings) for c in day.chapters],
        description=description,
        description_size=size(description),
        description_limit=settings.description_limit,
        draft_lines=draft_lines(day),
        wordings=[(name, WORDINGS[name], wordings[name]) for name in WORDINGS if name in wordings],
        problems=_problems(day),
        assumed=[outgoing(a, settings) for a in settings.assumed],
        spoken=_spoken(day, said),
        log_check=[
            (str(f.row or ""), outgoing(f.what, settings), f.todo, f.moment or "")
            for f in day.log_check
            if f.kind not in {"filmed, not logged", "logged, not filmed"}
        ],
    )


def sheet(moment: Moment, day: DayResult, said: Said, *, key: str = "") -> Sheet:
    """One moment's sheet; under ``key`` instead of its own handle where that is given."""
    claims = [c for c in day.claims if c.moment == moment.id]
    made = _sheet(moment, claims, day, said, time_zone(day.settings))
    return replace(made, key=key) if key else made


def retold(shown: View, day: DayResult, said: Said) -> View:
    """``shown`` with all of ``day`` that a decision changes at once and that stands on no sheet of its own."""
    return replace(
        shown,
        promises=_promises(day),
        chapters=[_chapter(c, day.settings) for c in day.chapters],
        general=_general(day, said),
        film_claims=_film_claims(day),
    )


def _general(day: DayResult, said: Said) -> list[ClaimView]:
    known = {m.id for m in day.moments}
    return [_claim_in(c, said, day) for c in day.claims if c.moment is None or c.moment not in known]


def _chapter(chapter: Chapter, settings: Settings) -> ChapterView:
    title, lasts = outgoing(chapter.title, settings), stamp(chapter.end - chapter.start)
    return ChapterView(chapter_key(chapter), stamp(chapter.start), title, lasts)


def _film_claims(day: DayResult) -> list[ClaimView]:
    """Claims that only the film makes; it lies outside the day folder, so nothing of it is played."""
    told = day.film.claims if day.film else ()
    return [replace(_claim(c, {}, day.settings), at=in_film(c.start), watch="") for c in told]


def _promises(day: DayResult) -> list[PromiseView]:
    found = [_promise(p, day.settings) for p in day.promises]
    told = day.film.promises if day.film else ()
    return found + [replace(_promise(p, day.settings), at=in_film(p.start), watch="") for p in told]


def time_zone(settings: Settings) -> tzinfo:
    """The day's time zone; UTC where the name is not known here."""
    try:
        return ZoneInfo(settings.time_zone)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo("UTC")


def _sheet(moment: Moment, claims: list[Claim], day: DayResult, said: Said, zone: tzinfo) -> Sheet:
    settings = day.settings
    entry = day.entries.get(moment.find) if moment.find else None
    views = tuple(_claim_in(c, said, day) for c in claims)
    whole = moment.stance in _SHEETS
    return Sheet(
        id=moment.id,
        key=moment_key(moment),
        name=_name(moment, day),
        number=one_line(moment.find or ""),
        unknown=is_unknown(moment),
        stance=moment.stance.value,
        stance_words=STANCES[moment.stance],
        time=f"{moment.at.astimezone(zone):%H:%M}",
        at=stamp(moment.start),
        watch=watch_link(moment.clip, moment.start - 1),
        clip=outgoing(moment.clip, settings),
        still=quote(day.still_of(moment) or "", safe="/") if _inside(day.still_of(moment)) else "",
        words=_words(moment, said, settings),
        logged=_logged(entry, zone, settings) if entry else (),
        why=tuple(outgoing(w, settings) for w in moment.why),
        confidence=next(words for least, words in _SURE if moment.confidence >= least),
        share=moment.confidence,
        claims=views,
        needs=_needs(moment, views, day),
        whole=whole,
        paired=moment.find is not None,
        decided=tuple(_DECIDED.get(action, action) for action in getattr(moment, "decided", ())),
        accepted="accept" in getattr(moment, "decided", ()),
        log=bool(day.log),
    )


def _inside(path: str | None) -> bool:
    """Whether a still's path stays below ``out/``."""
    return bool(path) and not (path or "").startswith(("/", "\\")) and ".." not in (path or "").split("/")


def _name(moment: Moment, day: DayResult) -> str:
    entry = day.entries.get(moment.find) if moment.find else None
    return name_of(moment, day.settings, entry)


def _words(moment: Moment, said: Said, settings: Settings) -> tuple[tuple[str, str], ...]:
    """What was said in the moment, whole sentences, with the words heard where a name is spelt otherwise."""
    spoken = list(_between(said.written, moment.clip, moment.start, moment.end))
    text = " ".join(s.text for s in spoken)
    whole = outgoing(text, settings)
    parts = [part for s in spoken for part in _parts(s, settings)]
    if whole != text or not any(heard for _, heard in parts):  # a place may be spoken across two sentences
        return ((whole, ""),) if whole else ()
    return tuple(parts)


def _between(lines_of: Lines, clip: str, start: float, end: float) -> Iterator[Sentence]:
    """A clip's sentences that overlap a stretch."""
    lines = lines_of.get(clip, ())
    first = max(0, bisect_left(lines, start - LONGEST_SENTENCE_S, key=lambda s: s.start))
    for sentence in lines[first:]:
        if sentence.start >= end:
            return
        if sentence.end > start:
            yield sentence


def _needs(moment: Moment, claims: Iterable[ClaimView], day: DayResult) -> tuple[str, ...]:
    """Why a person should look at it, as the kinds that the list of what is left counts."""
    needs = [c.verdict for c in claims if c.needs]
    if moment.id in day.matched.unlogged:
        needs.append("unlogged")
    gone = day.film.gone if day.film else frozenset()
    if moment.stance is Stance.UNSURE and moment.id not in gone:
        needs.append("unsure")
    if any(moment.id in c.moments for c in day.cautions):
        needs.append("caution")
    if any(p.moment == moment.id and not p.kept and p.id not in gone for p in day.promises):
        needs.append("promise")
    return tuple(dict.fromkeys(needs))


def _claim_in(claim: Claim, said: Said, day: DayResult) -> ClaimView:
    """A claim, with what the finished film has to do with it."""
    made = _claim(claim, said.heard, day.settings)
    if day.film is None or claim.id not in day.film.gone:
        return made
    note = "; ".join(part for part in (NOT_IN_FILM, made.note) if part)
    return replace(made, note=note, needs=False)


def _claim(claim: Claim, said: Lines, settings: Settings) -> ClaimView:
    words = outgoing(claim.quote, settings)
    before, after = "", ""
    for sentence in _between(said, claim.clip, claim.start - 8, claim.end + 8):
        text = outgoing(sentence.text, settings)
        at = text.casefold().find(words.casefold())
        if at >= 0 and len(text) == len(text.casefold()):
            before, words, after = text[:at], text[at : at + len(words)], text[at + len(words) :]
            break
    reference = outgoing(claim.reference or "", settings)
    needs = claim.verdict is Verdict.CONTRADICTED or (claim.verdict is not Verdict.SUPPORTED and not reference)
    return ClaimView(
        id=claim.id,
        key=claim_key(claim),
        before=before,
        words=words,
        after=after,
        verdict=claim.verdict.value,
        years=said_years(claim),
        kind=claim.kind,
        evidence=tuple(
            (outgoing(e.statement, settings), outgoing(e.source, settings), say_years(e.from_, e.to))
            for e in claim.evidence
        ),
        reference=reference,
        note=outgoing(claim.note, settings),
        at=stamp(claim.start),
        watch=watch_link(claim.clip, claim.start - 1),
        needs=needs and not claim.struck,
        struck=claim.struck,
        reworded=outgoing(claim.wording or "", settings),
    )


def _promise(promise: Promise, settings: Settings) -> PromiseView:
    return PromiseView(
        id=promise.id,
        key=promise_key(promise),
        kind=promise.kind,
        text=outgoing(promise.text, settings),
        quote=outgoing(promise.quote, settings),
        kept=promise.kept,
        by=outgoing(promise.by or "", settings),
        at=stamp(promise.start),
        watch=watch_link(promise.clip, promise.start - 1),
    )


def _cautions(day: DayResult) -> list[tuple[str, str, str, str]]:
    """(kind, text, which finds, source)"""
    told = day.settings
    return [
        (c.kind, outgoing(c.text, told), ", ".join(one_line(f) for f in c.finds), outgoing(c.source, told))
        for c in day.cautions
    ]


def _logged(entry: LogEntry, zone: tzinfo, settings: Settings) -> tuple[tuple[str, str], ...]:
    """The log row's cells that hold something, by heading."""
    cells = (
        ("object", entry.object),
        ("time", f"{entry.time.astimezone(zone):%H:%M}" if entry.time else ""),
        ("material", entry.material),
        ("period", entry.period),
        ("years", say_years(entry.from_, entry.to)),
        ("maker", entry.maker),
        ("place", entry.place),
        ("grid", blur_grid(entry.grid, settings.grid_figures)),
        ("notes", entry.notes),
    )
    return tuple((name, outgoing(value, settings)) for name, value in cells if value)


def _row(entry: LogEntry, zone: tzinfo, settings: Settings) -> tuple[str, str, str]:
    time = f"{entry.time.astimezone(zone):%H:%M}" if entry.time else ""
    return one_line(entry.find), outgoing(entry.object or entry.notes or "no name", settings), time


def _problems(day: DayResult) -> list[Problem]:
    order = {"error": 0, "warning": 1, "note": 2}
    told = day.settings
    seen = dict.fromkeys((*day.problems, *day.matched.problems))
    return [
        p.model_copy(update={key: outgoing(getattr(p, key), told) for key in ("where", "what", "remedy")})
        for p in sorted(seen, key=lambda p: order[p.level])
    ]


def _spoken(day: DayResult, said: Said) -> list[tuple[str, list[Spoken]]]:
    found: list[tuple[str, list[Spoken]]] = []
    for clip in day.clips:
        lines = [
            Spoken(stamp(s.start), watch_link(s.clip, s.start), _parts(s, day.settings))
            for s in said.written.get(clip.name, ())
        ]
        found.append((outgoing(clip.name, day.settings), lines))
    if day.film and day.film.words.segments:
        new = sentences(day.film.words)
        lines = [Spoken(stamp(s.start), "", _parts(s, day.settings)) for s in new]
        found.append((f"{outgoing(day.film.name, day.settings)}, what is in no clip", lines))
    return found


def _parts(sentence: Sentence, settings: Settings) -> tuple[tuple[str, str], ...]:
    """The sentence in pieces, those in the trade's spelling with the words heard.

    A sentence with a place in it that is blurred is not taken apart: the words heard follow it.
    """
    whole = outgoing(sentence.text, settings)
    told = []
    for _, run in groupby(sentence.words, key=lambda word: word.as_heard is not None):
        words = list(run)
        heard = " ".join(word.as_heard or "" for word in words)
        told.append((" ".join(word.word.strip() for word in words), outgoing(heard, settings)))
    if whole == sentence.text:
        return tuple(told)
    return (whole, ""), *((" ", heard) for _, heard in told if heard)
