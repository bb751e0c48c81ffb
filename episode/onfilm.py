"""A day's results on the time line of its finished film, with what only the film says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from episode.cutting.pieces import CutPiece, Retimed, Traced
from episode.cutting.retime import retime
from episode.drafting.result import DayResult
from episode.errors import MissingModel
from episode.models import (
    Claim,
    Clip,
    Decision,
    Mention,
    Moment,
    Problem,
    Promise,
    Reference,
    Stance,
    StartFrom,
    Transcript,
)
from episode.progress import Progress

if TYPE_CHECKING:
    from episode.make import Options, Spotted

LEAST_S = 1.0
"""Shorter stretches without a source are joints, stings and noises, not speech that claims something."""
_SHOWN = frozenset({Stance.FOUND, Stance.EARLIER, Stance.UNSURE})


@dataclass(frozen=True)
class OnFilm:
    """What moved onto the film, what was heard in its new pieces, and the day as if the film were its only clip."""

    moved: Retimed
    result: DayResult
    new_claims: tuple[Claim, ...]
    new_promises: tuple[Promise, ...]
    found_claims: tuple[Claim, ...]
    found_promises: tuple[Promise, ...]
    """New ones as they were before the person decided about them."""
    heard: Transcript
    written: Transcript
    """What was heard in the new pieces, and the same in the trade's spelling with private places withheld."""
    problems: tuple[Problem, ...]


def on_film(
    day: DayResult,
    traced: Traced,
    film: Path | None,
    spotted: Spotted,
    decided: tuple[tuple[Decision, ...], tuple[Reference, ...]],
    options: Options,
    progress: Progress,
) -> OnFilm:
    """Move ``day`` onto the film, hear and check what came from no clip, and word chapters and description anew.

    ``film`` is the finished film where there is one to listen to. What is said in a new piece of it is a claim or
    a promise like any other; what is named there is talk about a find (recap) or about a type (aside), never a find
    of the day, since nobody can tell from sound what is held up.
    """
    moved = retime(
        traced,
        moments=day.moments,
        claims=day.claims,
        promises=day.promises,
        transcript=day.transcript,
        ties=day.matched.ties,
    )
    clip, problems = _film_clip(moved, film)
    spans = _spans(moved.unknown, clip) if clip.audio_tracks else ()
    heard, unheard = _heard(clip, spans, day, options, progress) if spans else (Transcript(), ())
    transcript = _joined(moved.transcript, heard)
    told = _Told()
    if heard.segments:
        told = _told(day, moved, transcript, heard, clip, spotted, decided, options, progress)
    result = _worded(day, moved, clip, transcript, told, spotted)
    respelt, written = _respelt(day, traced, heard, told, spotted)
    result = result.model_copy(update={"respelt": respelt})
    return OnFilm(
        moved,
        result,
        new_claims=told.claims,
        new_promises=told.promises,
        found_claims=told.found_claims,
        found_promises=told.found_promises,
        heard=heard,
        written=written,
        problems=(*problems, *unheard, *told.stale),
    )


def _respelt(
    day: DayResult, traced: Traced, heard: Transcript, told: _Told, spotted: Spotted
) -> tuple[Transcript | None, Transcript]:
    """The film's words with the trade's spelling, or None where nothing is spelt otherwise; and the new pieces' alone."""
    from episode.speech.withheld import withhold
    from episode.spotting.respell import respell

    settings = day.settings
    own = withhold(heard, settings)
    written = own
    if settings.trade_spelling:
        written = respell(own, told.mentions, spotted.lexicon, least=settings.trade_spelling_from)
    if day.respelt is None and written == own:
        return None, written
    return _joined(retime(traced, transcript=day.written).transcript, written), written


def _film_clip(moved: Retimed, film: Path | None) -> tuple[Clip, tuple[Problem, ...]]:
    """The film as a clip; silent where there is no file to listen to."""
    clip = Clip(
        name=moved.cut,
        path=film or Path(moved.cut),
        duration=moved.duration,
        start=datetime(1970, 1, 1, tzinfo=UTC),
        start_from=StartFrom.MODIFIED,
        camera="film",
    )
    new = sum(p.cut_end - p.cut_start for p in moved.unknown if p.cut_end - p.cut_start >= LEAST_S)
    if film is None:
        if not new:
            return clip, ()
        what = f"{new:.0f} s of it come from no clip of the day and were not heard, for want of the film itself"
        remedy = "Say `--film FILM` as well, so that a voice-over's claims are checked too."
        return clip, (Problem(where=moved.cut, what=what, remedy=remedy, level="note"),)
    from episode.errors import UnusableMedia
    from episode.footage.probe import probe

    try:
        found = probe(film, film.name)
    except UnusableMedia as error:
        return clip, (Problem(where=str(film), what=error.what, remedy=error.remedy),)
    if abs(found.duration - moved.duration) > 2.0:
        what = f"lasts {found.duration:.1f} s, the timeline {moved.duration:.1f} s: they are not the same cut"
        remedy = "Export the timeline and the film from the same sequence; new pieces were not heard."
        return clip, (Problem(where=str(film), what=what, remedy=remedy),)
    return clip.model_copy(update={"audio_tracks": len(found.audio), "has_video": found.has_video}), ()


def _spans(unknown: Sequence[CutPiece], clip: Clip) -> tuple[tuple[float, float], ...]:
    """The stretches worth listening to; pieces that touch are one."""
    joined: list[tuple[float, float]] = []
    for piece in sorted(unknown, key=lambda p: p.cut_start):
        start, end = round(piece.cut_start, 3), round(min(piece.cut_end, clip.duration), 3)
        if joined and start - joined[-1][1] < 0.01:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end))
        else:
            joined.append((start, end))
    return tuple((start, end) for start, end in joined if end - start >= LEAST_S)


def _heard(
    clip: Clip, spans: tuple[tuple[float, float], ...], day: DayResult, options: Options, progress: Progress
) -> tuple[Transcript, tuple[Problem, ...]]:
    from episode.speech.hear import hear
    from episode.speech.weights import cache_folder

    try:
        return hear(
            (clip,),
            day.settings,
            cache=options.cache or cache_folder(),
            device=options.device,
            fetch=options.fetch,
            only={clip.name: spans},
            progress=progress,
        )
    except MissingModel as error:
        what = f"its new pieces were not heard: {error.what}"
        return Transcript(), (Problem(where=clip.name, what=what, remedy=error.remedy),)


def _joined(moved: Transcript, heard: Transcript) -> Transcript:
    segments = sorted((*moved.segments, *heard.segments), key=lambda s: (s.start, s.end))
    own = tuple(h for h in heard.clips if h.how == "recognised")
    return Transcript(segments=tuple(segments), clips=moved.clips or own)


@dataclass(frozen=True)
class _Told:
    """What the new pieces say; ``found_`` is before anything was decided about it."""

    moments: tuple[Moment, ...] = ()
    mentions: tuple[Mention, ...] = ()
    claims: tuple[Claim, ...] = ()
    promises: tuple[Promise, ...] = ()
    found_claims: tuple[Claim, ...] = ()
    found_promises: tuple[Promise, ...] = ()
    stale: tuple[Problem, ...] = ()


def _told(
    day: DayResult,
    moved: Retimed,
    transcript: Transcript,
    heard: Transcript,
    clip: Clip,
    spotted: Spotted,
    decided: tuple[tuple[Decision, ...], tuple[Reference, ...]],
    options: Options,
    progress: Progress,
) -> _Told:
    """Moments, claims and promises of what was heard, among those that moved (a sentence may lean on the last)."""
    from episode.claims.check import check
    from episode.claims.decided import decided as apply
    from episode.claims.promises import promises
    from episode.day.undoing import current
    from episode.make import listening
    from episode.matching.moments import moments as grouped
    from episode.record.load import load_record
    from episode.spotting.dayterms import expected
    from episode.spotting.spot import spot

    settings, lexicon = day.settings, spotted.lexicon
    listen = listening((clip,), settings, options, progress)
    mentions = spot(heard, lexicon, day.log, clips=(clip,), expected=expected(settings), listen=listen)
    named = tuple(_placed(m, moved.moments) for m in grouped(mentions, heard, (clip,), lexicon))
    moments = (*moved.moments, *named)
    every: tuple[Mention, ...] = (*(m for one in moved.moments for m in one.mentions), *mentions)
    decisions, references = decided
    claims = check(transcript, every, moments, day.log, load_record(), lexicon, settings, references)
    owed = promises(transcript, moments, settings)
    found_claims = tuple(c for c in claims if _is_new(c, heard))
    found_promises = tuple(p for p in owed if _is_new(p, heard))
    here = tuple(d for d in current(decisions) if d.clip == clip.name)
    new_claims, new_promises, stale = apply(found_claims, found_promises, here)
    return _Told(named, mentions, new_claims, new_promises, found_claims, found_promises, stale)


def _placed(moment: Moment, shown: Sequence[Moment]) -> Moment:
    """Talk about a find of the film if it names the same, the last one shown before it, or talk about a type."""
    named = {moment.term, *(m.term for m in moment.mentions)} - {None}
    same = [m for m in shown if m.stance in _SHOWN and m.term in named]
    before = [m for m in same if m.start <= moment.start]
    find = max(before, key=lambda m: m.start) if before else min(same, key=lambda m: m.start, default=None)
    stance = moment.stance
    if stance in _SHOWN or stance is Stance.RECAP:
        stance = Stance.RECAP if find else Stance.ASIDE
    why = ("said in a piece of the film that comes from no clip of the day",)
    at = find.at if find else min((m.at for m in shown), default=moment.at)
    return moment.model_copy(
        update={
            "id": f"v{moment.id.lstrip('m')}",
            "stance": stance,
            "find": find.find if find else None,
            "at": at,
            "why": why,
        }
    )


def _is_new(value: Claim | Promise, heard: Transcript) -> bool:
    middle = (value.start + value.end) / 2
    return any(s.start <= middle <= s.end for s in heard.segments)


def _worded(
    day: DayResult, moved: Retimed, clip: Clip, transcript: Transcript, told: _Told, spotted: Spotted
) -> DayResult:
    """The day as if the film were its only clip: what drafting needs to word it."""
    from episode.drafting.chapters import chapters
    from episode.drafting.decided import titled_by_hand
    from episode.drafting.description import draft

    moments = tuple(sorted((*moved.moments, *told.moments), key=lambda m: (m.start, m.id)))
    shown = {moment.id for moment in moments}
    # Finds of the day stay in the record of it; what the film does not show is not said of the film.
    matched = day.matched.model_copy(
        update={"moments": moments, "unlogged": tuple(name for name in day.matched.unlogged if name in shown)}
    )
    claims = tuple(sorted((*moved.claims, *told.claims), key=lambda c: (c.start, c.id)))
    promises = tuple(sorted((*moved.promises, *told.promises), key=lambda p: (p.start, p.id)))
    result = day.model_copy(
        update={
            "cut": moved.cut,
            "clips": (clip,),
            "matched": matched,
            "claims": claims,
            "promises": promises,
            "transcript": transcript,
            "chapters": titled_by_hand(
                chapters(moments, transcript, (clip,), day.settings, spotted.lexicon, claims), day.chapters
            ),
        }
    )
    written = draft(result, spotted.templates)
    worded = {"description": written.text, "wordings": written.wordings, "rests": written.rests}
    return result.model_copy(update={"promises": written.promises, **worded})
