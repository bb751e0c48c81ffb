"""What is in hand: one find, to be seen, heard and put right."""

from __future__ import annotations

from urllib.parse import quote

from episode.drafting.naming import name_of
from episode.drafting.outgoing import one_line, outgoing
from episode.drafting.result import DayResult
from episode.drafting.stamps import stamp
from episode.models import Clip, LogEntry, Moment, Stance
from episode.review.keys import clip_key, moment_key
from episode.review.parts import render
from episode.review.view import STANCES

FRAMES = (-1.0, 0.0, 1.0, 2.0, 3.5, 5.0)
"""Seconds from the naming at which frames are offered."""


def hand(day: DayResult, clip: Clip, moment: Moment | None, at: float | None = None) -> str:
    """The panel for ``moment``, or for ``clip`` from second ``at`` on."""
    told = day.settings
    begin = moment.start if moment else max(0.0, at or 0.0)
    until = moment.end if moment else min(clip.duration, begin + 10.0)
    after = _after(moment, day) if moment else None
    entry = day.entries.get(moment.find) if moment and moment.find else None
    name = name_of(moment, told, entry) if moment else ""
    naming = moment.mentions[0].start if moment and moment.mentions else begin
    still_at = moment.still_at if moment and moment.still_at is not None else naming
    frames = sorted({round(min(max(0.0, naming + d), max(0.0, clip.duration - 0.1)), 1) for d in FRAMES})
    return render(
        "hand.html",
        key=moment_key(moment) if moment else clip_key(clip.name),
        clip=clip_key(clip.name),
        clip_name=outgoing(clip.name, told),
        begin=f"{begin:.2f}",
        until=f"{until:.2f}",
        heading=(name or "No name") if moment else "Footage",
        plain_name=name,
        video=clip.has_video,
        source=f"/footage/{quote(clip.name, safe='/')}",
        moment=moment is not None,
        accepted=moment is not None and "accept" in moment.decided,
        stances=[(stance.value, words) for stance, words in STANCES.items()],
        stance=moment.stance.value if moment else "",
        rows=[(e.find.strip(), _row(e, day)) for e in day.log if e.find.strip()],
        paired=(moment.find or "") if moment else "",
        from_=exact(begin),
        to=exact(until),
        middle=exact((begin + until) / 2),
        next_key=moment_key(after) if after else "",
        next_name=name_of(after, told) or "no name" if after else "",
        still_at=exact(still_at),
        frames=[(f"{at:.1f}", exact(at)) for at in frames],
        mentions=[
            {
                "heard": outgoing(m.heard, told),
                "at": stamp(m.start),
                "term": outgoing(m.term, told),
                "how": m.how.value,
                "score": f"{m.score:.2f}",
                "stance": STANCES[Stance(m.stance)],
            }
            for m in (moment.mentions if moment else ())
        ],
        why=[outgoing(w, told) for w in moment.why] if moment else [],
    )


def exact(at: float) -> str:
    """Seconds as m:ss.s, for a person to read and to change."""
    tenths = round(at * 10)
    return f"{tenths // 600}:{tenths % 600 // 10:02d}.{tenths % 10}"


def _after(moment: Moment, day: DayResult) -> Moment | None:
    later = [m for m in day.moments if m.clip == moment.clip and m.start > moment.start and m.id != moment.id]
    return min(later, key=lambda m: (m.start, m.id), default=None)


def _row(entry: LogEntry, day: DayResult) -> str:
    told = outgoing(entry.object or entry.notes or "no name", day.settings)
    return f"{one_line(entry.find)} {told}"[:90]
