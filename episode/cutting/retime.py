"""Moments, claims, promises and words with times on the finished cut."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from episode.cutting.pieces import Appearance, CutPiece, Dropped, Retimed, Traced
from episode.models import Claim, Hearing, Mention, Moment, Promise, Segment, Tie, Transcript, Word

LEAST_SHARE = 0.5
"""Less of a quotation than this does not say it; so much of a moment is the moment, whatever is said in it."""
NAMED_S = 0.5
"""So much of a moment is on screen if its name is said there."""
UNNAMED_S, UNNAMED_SHARE = 5.0, 0.25
"""So much of it has to be seen where its name is not said: less is the rest of it running into the next."""


def retime(
    traced: Traced,
    *,
    moments: Sequence[Moment] = (),
    claims: Sequence[Claim] = (),
    promises: Sequence[Promise] = (),
    transcript: Transcript | None = None,
    ties: Sequence[Tie] = (),
) -> Retimed:
    """Move everything onto the cut's own time line; what was cut out is listed as dropped.

    Moved values name the cut as their clip, so that chapters and lists can be made of them as of a day with one
    clip. A moment used twice (a teaser, then in its place) has its times from where most of it is, the later one if
    both are as long; all its places are in ``appearances``. Words follow the cut, repeated where it repeats them.
    ``ties`` are clips that heard the same: a moment that one camera filmed is in the cut where the other's sound is,
    unless that other's own moment of the same stands there already.
    """
    dropped: list[Dropped] = []
    appearances: list[Appearance] = []
    moved_moments: list[Moment] = []
    elsewhere: list[Moment] = []
    for moment in moments:
        places = _places(traced.pieces, moment.clip, moment.start, moment.end)
        long_enough = [p for p in places if _shows(p, moment)]
        if not long_enough:
            elsewhere.append(moment)
            continue
        main, *others = sorted(long_enough, key=lambda p: (-round(p.share, 2), -p.begin))
        moved_moments.append(_moved_moment(moment, main, traced.cut))
        appearances += [
            Appearance(moment=moment.id, start=p.begin, end=p.end, share=round(min(1.0, p.share), 3))
            for p in (main, *sorted(others, key=lambda p: p.begin))
        ]
    for moment in elsewhere:
        seen = _places(_as_of(moment.clip, traced.pieces, ties), moment.clip, moment.start, moment.end)
        fit = [p for p in seen if _shows(p, moment) and not any(_same(m, moment, p) for m in moved_moments)]
        if not fit:
            dropped.append(_gone("moment", moment, _places(traced.pieces, moment.clip, moment.start, moment.end)))
            continue
        main = max(fit, key=lambda p: (round(p.share, 2), p.begin))
        moved_moments.append(_moved_moment(moment, main, traced.cut))
        share = round(min(1.0, main.share), 3)
        appearances.append(Appearance(moment=moment.id, start=main.begin, end=main.end, share=share))
    kept_claims = [c for c in (_quoted("claim", c, traced, dropped) for c in claims) if isinstance(c, Claim)]
    kept_promises = [p for p in (_quoted("promise", p, traced, dropped) for p in promises) if isinstance(p, Promise)]
    return Retimed(
        cut=traced.cut,
        duration=traced.duration,
        moments=tuple(sorted(moved_moments, key=lambda m: (m.start, m.id))),
        claims=tuple(sorted(kept_claims, key=lambda c: (c.start, c.id))),
        promises=tuple(sorted(kept_promises, key=lambda p: (p.start, p.id))),
        transcript=_moved_words(traced, transcript or Transcript()),
        appearances=tuple(appearances),
        dropped=tuple(dropped),
        unknown=tuple(p for p in traced.pieces if p.clip is None),
    )


@dataclass(frozen=True)
class _Place:
    """A stretch of the cut in which part of a stretch of a clip is: pieces that run on count as one."""

    pieces: tuple[CutPiece, ...]
    begin: float
    end: float
    share: float

    @property
    def length(self) -> float:
        return self.end - self.begin

    def to_cut(self, at: float) -> float | None:
        """The cut's time of a clip's, or ``None`` if that instant is not in this place."""
        for piece in self.pieces:
            if piece.clip_start - 0.02 <= at <= piece.clip_end() + 0.02:
                return piece.to_cut(at)
        return None


def _places(pieces: Sequence[CutPiece], clip: str, start: float, end: float) -> list[_Place]:
    """Where in the cut the clip's ``start`` to ``end`` is. Trimmed pauses and cutaways do not split a place."""
    length = max(end - start, 1e-6)
    places: list[list[CutPiece]] = []
    for piece in pieces:
        if piece.clip != clip or piece.clip_start >= end or piece.clip_end() <= start:
            continue
        # It is the same place if the clip goes on from there, not too long after on the cut.
        if (
            places
            and piece.clip_start >= places[-1][-1].clip_end() - 0.1
            and (piece.cut_start - places[-1][-1].cut_end <= max(10.0, length))
        ):
            places[-1].append(piece)
        else:
            places.append([piece])
    told = []
    for group in places:
        inside = sum(min(end, p.clip_end()) - max(start, p.clip_start) for p in group)
        told.append(
            _Place(
                pieces=tuple(group),
                begin=round(group[0].to_cut(max(start, group[0].clip_start)), 4),
                end=round(group[-1].to_cut(min(end, group[-1].clip_end())), 4),
                share=inside / length,
            )
        )
    return told


def _as_of(clip: str, pieces: Sequence[CutPiece], ties: Sequence[Tie]) -> list[CutPiece]:
    """The cut's pieces in the seconds of ``clip``, those too that came from a clip that heard the same."""
    lines = {
        t.other: (1 / (1 + t.drift_ppm * 1e-6), -t.shift_s / (1 + t.drift_ppm * 1e-6)) for t in ties if t.clip == clip
    }
    lines |= {t.clip: (1 + t.drift_ppm * 1e-6, t.shift_s) for t in ties if t.other == clip}
    found = []
    for piece in pieces:
        if piece.clip == clip:
            found.append(piece)
        elif piece.clip in lines:
            rate, shift = lines[piece.clip]
            skipped = max(0.0, -(piece.clip_start * rate + shift)) / (piece.speed * rate)  # before its first frame
            if skipped < piece.cut_end - piece.cut_start:
                found.append(
                    piece.model_copy(
                        update={
                            "clip": clip,
                            "cut_start": piece.cut_start + skipped,
                            "clip_start": max(0.0, piece.clip_start * rate + shift),
                            "speed": piece.speed * rate,
                        }
                    )
                )
    return found


def _same(moved: Moment, moment: Moment, place: _Place) -> bool:
    """Whether ``moved`` is the other camera's moment of the same thing, there where ``moment`` would come."""
    alike = moved.term == moment.term or (moved.find is not None and moved.find == moment.find)
    return alike and moved.start < place.end + 3.0 and moved.end > place.begin - 3.0


def _shows(place: _Place, moment: Moment) -> bool:
    if place.share >= LEAST_SHARE:
        return True
    if place.length >= UNNAMED_S and place.share >= UNNAMED_SHARE:
        return True
    named = any(place.to_cut((m.start + m.end) / 2) is not None for m in moment.mentions)
    return named and place.length >= NAMED_S


def _gone(what: str, value: Moment | Claim | Promise, places: Sequence[_Place]) -> Dropped:
    return Dropped.model_validate(
        {
            "what": what,
            "id": value.id,
            "clip": value.clip,
            "start": value.start,
            "end": value.end,
            "why": f"only {max(p.share for p in places):.0%} of it is in the cut" if places else "it was cut out",
        }
    )


def _moved_moment(moment: Moment, place: _Place, cut: str) -> Moment:
    mentions = tuple(m for m in (_moved_mention(m, place, cut) for m in moment.mentions) if m is not None)
    shown = place.to_cut(moment.still_at) if moment.still_at is not None else None
    return moment.model_copy(
        update={
            "clip": cut,
            "start": place.begin,
            "end": place.end,
            "mentions": mentions,
            "still_at": round(shown, 4) if shown is not None else None,
        }
    )


def _moved_mention(mention: Mention, place: _Place, cut: str) -> Mention | None:
    start = place.to_cut(mention.start)
    end = place.to_cut(mention.end)
    if start is None and end is None:
        return None
    start = start if start is not None else place.begin
    end = end if end is not None else place.end
    return mention.model_copy(update={"clip": cut, "start": round(start, 4), "end": round(max(start, end), 4)})


def _quoted(what: str, value: Claim | Promise, traced: Traced, dropped: list[Dropped]) -> Claim | Promise | None:
    """A statement is in the cut where most of it is said; of several places, the first."""
    places = _places(traced.pieces, value.clip, value.start, value.end)
    said = [p for p in places if p.share >= LEAST_SHARE]
    if not said:
        dropped.append(_gone(what, value, places))
        return None
    best = max(said, key=lambda p: (round(p.share, 2), -p.begin))
    return value.model_copy(update={"clip": traced.cut, "start": best.begin, "end": best.end})


def _moved_words(traced: Traced, transcript: Transcript) -> Transcript:
    segments: list[Segment] = []
    for piece in traced.pieces:
        if piece.clip is None:
            continue
        for segment in transcript.segments:
            if segment.clip == piece.clip and segment.start < piece.clip_end() and segment.end > piece.clip_start:
                words = [w for w in segment.words if piece.clip_start <= (w.start + w.end) / 2 < piece.clip_end()]
                if words:
                    segments.append(_segment(piece, segment, words, traced.cut))
    hearing = _hearing(traced, transcript.clips)
    return Transcript(segments=tuple(segments), clips=hearing)


def _segment(piece: CutPiece, segment: Segment, words: Sequence[Word], cut: str) -> Segment:
    moved = tuple(
        w.model_copy(update={"start": round(piece.to_cut(w.start), 4), "end": round(piece.to_cut(w.end), 4)})
        for w in words
    )
    text = segment.text if len(words) == len(segment.words) else " ".join(w.word.strip() for w in words)
    return Segment(clip=cut, start=moved[0].start, end=moved[-1].end, text=text, words=moved)


def _hearing(traced: Traced, hearings: Iterable[Hearing]) -> tuple[Hearing, ...]:
    used = {p.clip for p in traced.pieces}
    heard = [h for h in hearings if h.clip in used]
    if not heard:
        return ()
    first = next((h for h in heard if h.how == "recognised"), heard[0])
    return (first.model_copy(update={"clip": traced.cut}),)
