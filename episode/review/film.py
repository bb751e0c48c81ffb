"""A picture of the edit: the raw clips above, the finished film below, a ribbon from each piece to its source."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from importlib.resources import files

from episode.cutting.pieces import CutPiece, Retimed, Traced
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.drafting.selects import label
from episode.drafting.stamps import stamp
from episode.models import Clip, Moment, Stance

WIDE, LEFT, RIGHT = 1200.0, 16.0, 1184.0
_CLIP_Y, _BAR = 98.0, 30.0
_FILM_Y = 308.0
_LEVELS, _LEVEL = 3, 13.0
"""Rows of marks: those that would cover each other stand apart."""
_GAP = 10.0
_LETTER = 6.4
"""Width of a letter at 12 px, on the wide side."""
_SHOWN = frozenset({Stance.FOUND, Stance.EARLIER, Stance.UNSURE})
_STEPS_S = (5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600)


@dataclass(frozen=True)
class Picture:
    """The picture as a file of its own, and as part of a page that brings the style."""

    whole: str
    inline: str


def film_picture(day: DayResult, traced: Traced, moved: Retimed) -> Picture:
    """Draw where each piece of the film came from. Every string is escaped and fit to go out."""
    body = "\n".join(_Drawing(day, traced, moved).lines())
    style = files("episode.review").joinpath("templates").joinpath("film.css").read_text(encoding="utf-8")
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:.0f} {_HEIGHT:.0f}" class="film" role="img"'
    head += ' aria-labelledby="film-title film-desc">'
    return Picture(
        whole=f'<?xml version="1.0" encoding="UTF-8"?>\n{head}\n<style>\n{style}</style>\n{body}\n</svg>\n',
        inline=f"{head}\n{body}\n</svg>",
    )


_HEIGHT = _FILM_Y + _BAR + 124.0


class _Drawing:
    def __init__(self, day: DayResult, traced: Traced, moved: Retimed) -> None:
        self.day, self.traced, self.moved = day, traced, moved
        self.settings = day.settings
        used = {piece.clip for piece in traced.pieces}
        self.clips = list(day.clips)
        room = RIGHT - LEFT - _gap(self.clips) * max(len(self.clips) - 1, 0)
        total = sum(clip.duration for clip in self.clips) or 1.0
        self.at: dict[str, float] = {}
        x = LEFT
        for clip in self.clips:
            self.at[clip.name] = x
            x += clip.duration / total * room + _gap(self.clips)
        self.raw_scale = room / total
        self.film_scale = (RIGHT - LEFT) / (traced.duration or 1.0)
        self.used = used

    def lines(self) -> Iterator[str]:
        yield '<title id="film-title">' + self._say(f"Where {self.traced.cut} came from") + "</title>"
        yield '<desc id="film-desc">' + self._say(_described(self.traced, self.clips)) + "</desc>"
        yield (
            '<defs><pattern id="film-hatch" width="8" height="8" patternUnits="userSpaceOnUse" '
            'patternTransform="rotate(45)"><rect class="from-nowhere" width="8" height="8"/>'
            '<path class="hatch" d="M0 0V8"/></pattern></defs>'
        )
        yield f'<text class="head" x="{LEFT}" y="20">Raw clips</text>'
        yield f'<text class="head" x="{LEFT}" y="{_FILM_Y + _BAR + 86:.0f}">The film</text>'
        yield from self._ribbons()
        yield from self._raw()
        yield from self._film()
        yield from self._key()

    def _ribbons(self) -> Iterator[str]:
        """Below the bars, so that what crosses them stays readable."""
        order = {clip.name: index for index, clip in enumerate(self.clips)}
        middle = (_CLIP_Y + _BAR + _FILM_Y) / 2
        for piece in self.traced.pieces:
            if piece.clip not in self.at:
                continue
            a, b = self._on_clip(piece.clip, piece.clip_start), self._on_clip(piece.clip, piece.clip_end())
            c, d = self._on_film(piece.cut_end), self._on_film(piece.cut_start)
            top, foot = _CLIP_Y + _BAR, _FILM_Y
            kind = f"ribbon r{order[piece.clip] % 4}" + (" doubt" if piece.flags else "")
            path = (
                f"M{a:.1f} {top}H{max(b, a + 0.6):.1f}C{max(b, a + 0.6):.1f} {middle} {c:.1f} {middle} {c:.1f} {foot}"
                f"H{d:.1f}C{d:.1f} {middle} {a:.1f} {middle} {a:.1f} {top}Z"
            )
            yield f'<path class="{kind}" d="{path}"><title>{self._say(_told(piece))}</title></path>'

    def _raw(self) -> Iterator[str]:
        for index, clip in enumerate(self.clips):
            x, width = self.at[clip.name], max(clip.duration * self.raw_scale, 1.0)
            says = f"{clip.name}, {stamp(clip.duration)}" + ("" if clip.name in self.used else ", not in the film")
            yield f'<g><title>{self._say(says)}</title><rect class="clip" x="{x:.1f}" y="{_CLIP_Y}" width="{width:.1f}" height="{_BAR}"/>'
            for begin, end in _kept(self.traced.pieces, clip.name):
                left, right = self._on_clip(clip.name, begin), self._on_clip(clip.name, end)
                yield (
                    f'<rect class="kept r{index % 4}" x="{left:.1f}" y="{_CLIP_Y}" '
                    f'width="{max(right - left, 0.8):.1f}" height="{_BAR}"/>'
                )
            name = _fitting(outgoing(clip.name.rpartition("/")[2], self.settings), width - 4)
            if name:
                yield f'<text class="name" x="{x:.1f}" y="{_CLIP_Y - 50}">{escape(name)}</text>'
            yield "</g>"
        gone = {item.id for item in self.moved.dropped if item.what == "moment"}
        marks = sorted(((self._on_clip(m.clip, _shown_at(m)), m.id, m) for m in self._finds()), key=lambda k: k[:2])
        for x, level, labelled, moment in _apart(marks):
            says = label(moment, self.settings) or "unnamed"
            lost = moment.id in gone
            yield self._mark(
                x, _CLIP_Y - 9 - level * _LEVEL, moment, f"{says}, cut out" if lost else says, labelled, lost=lost
            )

    def _mark(self, x: float, y: float, moment: Moment, says: str, labelled: bool, *, lost: bool = False) -> str:
        shape = _cross(x, y) if lost else f'<circle cx="{x:.1f}" cy="{y}" r="4.5"/>'
        number = ""
        if labelled and moment.find:
            # At the right edge there is room only on the left.
            end = x + 9 + _LETTER * len(moment.find) > WIDE
            place = f'x="{x - 7:.1f}" text-anchor="end"' if end else f'x="{x + 7:.1f}"'
            number = f'<text {place} y="{y + 4}">{self._say(moment.find)}</text>'
        kind = "find lost" if lost else "find"
        return f'<g class="{kind}"><title>{self._say(says)}</title>{shape}{number}</g>'

    def _film(self) -> Iterator[str]:
        order = {clip.name: index for index, clip in enumerate(self.clips)}
        for piece in self.traced.pieces:
            x, end = self._on_film(piece.cut_start), self._on_film(piece.cut_end)
            kind = f"kept r{order[piece.clip] % 4}" if piece.clip in order else "nowhere"
            fill = "" if piece.clip in order else ' fill="url(#film-hatch)"'
            yield (
                f'<rect class="{kind}"{fill} x="{x:.1f}" y="{_FILM_Y}" width="{max(end - x, 0.6):.1f}" height="{_BAR}">'
                f"<title>{self._say(_told(piece))}</title></rect>"
            )
            if x > LEFT + 0.5:
                yield f'<path class="joint" d="M{x:.1f} {_FILM_Y}v{_BAR}"/>'
        yield f'<rect class="frame" x="{LEFT}" y="{_FILM_Y}" width="{RIGHT - LEFT:.1f}" height="{_BAR}"/>'
        last = -1e9
        for piece in self.traced.pieces:
            if piece.flags:
                x = (self._on_film(piece.cut_start) + self._on_film(piece.cut_end)) / 2
                x = max(x, last + 13)
                last = x
                yield f'<g class="flag"><title>{self._say(_told(piece))}</title>'
                yield f'<path d="M{x:.1f} {_FILM_Y - 14:.1f}l6.5 11h-13z"/><text x="{x:.1f}" y="{_FILM_Y - 4.4:.1f}">!</text></g>'
        yield from self._ticks()
        yield from self._film_finds()

    def _ticks(self) -> Iterator[str]:
        step = next((s for s in _STEPS_S if self.traced.duration / s <= 14), _STEPS_S[-1])
        at = 0.0
        y = _FILM_Y + _BAR
        while at <= self.traced.duration:
            x = self._on_film(at)
            if x <= RIGHT - 18 or at == 0:
                yield f'<path class="tick" d="M{x:.1f} {y}v5"/><text class="time" x="{x:.1f}" y="{y + 18}">{stamp(at)}</text>'
            at += step

    def _film_finds(self) -> Iterator[str]:
        named = {m.id: m for m in self._finds()}
        shown = sorted((a for a in self.moved.appearances if a.moment in named), key=lambda a: (a.start, a.moment))
        seen: set[str] = set()
        marks = sorted(
            ((self._on_film((a.start + a.end) / 2), a.moment, named[a.moment]) for a in shown), key=lambda k: k[:2]
        )
        for x, level, labelled, moment in _apart(marks):
            again = ", again" if moment.id in seen else ""
            seen.add(moment.id)
            says = f"{label(moment, self.settings) or 'unnamed'}{again}"
            yield self._mark(x, _FILM_Y + _BAR + 30 + level * _LEVEL, moment, says, labelled)

    def _key(self) -> Iterator[str]:
        y = _FILM_Y + _BAR + 112
        x = LEFT
        yield f'<g class="key"><g class="find"><circle cx="{x + 6}" cy="{y - 4}" r="4.5"/></g><text x="{x + 16}" y="{y}">a find shown</text>'
        yield f'<g class="find lost">{_cross(x + 130, y - 4)}</g><text x="{x + 140}" y="{y}">a find cut out</text>'
        yield f'<rect class="nowhere" fill="url(#film-hatch)" x="{x + 252}" y="{y - 11}" width="26" height="13"/><text x="{x + 284}" y="{y}">from no clip of the day</text>'
        yield f'<g class="flag"><path d="M{x + 456} {y - 11}l6.5 11h-13z"/><text x="{x + 456}" y="{y - 1.4:.1f}">!</text></g><text x="{x + 468}" y="{y}">look at this piece</text></g>'

    def _finds(self) -> list[Moment]:
        return [m for m in self.day.moments if m.stance in _SHOWN and m.clip in self.at]

    def _on_clip(self, clip: str, seconds: float) -> float:
        length = next(c.duration for c in self.clips if c.name == clip)
        return self.at[clip] + min(max(seconds, 0.0), length) * self.raw_scale

    def _on_film(self, seconds: float) -> float:
        return LEFT + min(max(seconds, 0.0), self.traced.duration) * self.film_scale

    def _say(self, text: str) -> str:
        return escape(outgoing(text, self.settings))


def _apart(marks: Sequence[tuple[float, str, Moment]]) -> Iterator[tuple[float, int, bool, Moment]]:
    """Marks from left to right, each on the first row where it covers none, and whether its number has room there."""
    lasts = [-1e9] * _LEVELS
    for x, _, moment in marks:
        wide = 9 + _LETTER * len(moment.find or "")
        level = next((row for row, last in enumerate(lasts) if x - 5 > last), None)
        labelled = level is not None
        if level is None:
            level = lasts.index(min(lasts))
        lasts[level] = max(lasts[level], x + (wide if labelled else 5))
        yield x, level, labelled, moment


def _gap(clips: Sequence[Clip]) -> float:
    return min(_GAP, 200.0 / max(len(clips), 1))


def _described(traced: Traced, clips: Sequence[Clip]) -> str:
    known = [p for p in traced.pieces if p.clip]
    new = sum(p.cut_end - p.cut_start for p in traced.pieces if not p.clip)
    doubts = sum(1 for p in traced.pieces if p.flags)
    used = len({p.clip for p in known})
    return (
        f"The film lasts {stamp(traced.duration)}: {len(known)} pieces from {used} of {len(clips)} clips, "
        f"{new:.0f} seconds from no clip of the day, {doubts} pieces to look at."
    )


def _told(piece: CutPiece) -> str:
    place = f"{stamp(piece.cut_start)} to {stamp(piece.cut_end)}"
    whence = f"{piece.clip} from {stamp(max(piece.clip_start, 0.0))}" if piece.clip else "from no clip of the day"
    speed = f", at {piece.speed:.3g} times its speed" if piece.clip and abs(piece.speed - 1) > 0.002 else ""
    return f"{place}: {whence}{speed}" + (f"; look: {piece.look()}" if piece.flags else "")


def _kept(pieces: Sequence[CutPiece], clip: str) -> list[tuple[float, float]]:
    """The clip's stretches that are in the film, those that touch or overlap as one."""
    found: list[tuple[float, float]] = []
    for begin, end in sorted((p.clip_start, p.clip_end()) for p in pieces if p.clip == clip):
        if found and begin <= found[-1][1] + 0.05:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((begin, end))
    return found


def _shown_at(moment: Moment) -> float:
    return moment.still_at if moment.still_at is not None else moment.start


def _fitting(text: str, width: float) -> str:
    """As much of a name as there is room for; its end tells clips apart, so the beginning goes."""
    letters = int(width / _LETTER)
    if len(text) <= letters:
        return text
    return "…" + text[-(letters - 1) :] if letters >= 5 else ""


def _cross(x: float, y: float) -> str:
    return f'<path d="M{x - 4:.1f} {y - 4:.1f}l8 8m0 -8l-8 8"/>'
