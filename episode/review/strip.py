"""The day's strip: all clips on one line of wall-clock time, a row for each camera, the log beneath.

Computed in the units of the drawing: 1200 wide, from the left edge; times are the log's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo

from episode.drafting.outgoing import one_line, outgoing
from episode.drafting.result import DayResult
from episode.drafting.selects import label
from episode.models import Clip, Clock, Moment, Segment, Settings, Transcript
from episode.once import once_for_the_same
from episode.review.scale import Gap, Scale

_LEFT, _RIGHT = 118.0, 1186.0
_TOP, _ROW, _BAR = 30.0, 62.0, 34.0
_BIN = 3.0
"""Width of one bin of speech, in units of the drawing."""
_LOUDEST_WORDS_PER_S = 3.5
"""Words a second that fill a bar: brisk talk (common practice, no source)."""
_APART = 17.0
_TAKEN_AS_RIGHT = "clock taken as right: nothing to check it by"
_NAME = 14
"""Letters of a camera's name that fit beside its row."""

Across = Callable[[datetime], float]


@dataclass(frozen=True)
class Bar:
    """A clip: where it stands and how much was said in it, as one path."""

    name: str
    says: str
    x: float
    y: float
    width: float
    speech: str
    unknown: bool = False
    """Its clock is not known, so that where it stands is a guess."""


@dataclass(frozen=True)
class Mark:
    """A moment on its clip, and the line from there to its log row, if it has one."""

    id: str
    says: str
    x: float
    y: float
    kind: str
    tie: str = ""


@dataclass(frozen=True)
class Logged:
    """A log row: a dot on the bottom line with its number below."""

    find: str
    says: str
    x: float
    level: int
    filmed: bool


@dataclass(frozen=True)
class Row:
    """A camera: its name, as much of it as there is room for, and what is known of its clock."""

    camera: str
    clock: str
    y: float
    label: str = ""


@dataclass
class Strip:
    """Everything drawn."""

    height: float
    log_y: float
    rows: list[Row] = field(default_factory=list)
    clocks: list[tuple[str, str]] = field(default_factory=list)
    """(camera or clip, what is known of its clock)"""
    bars: list[Bar] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    logged: list[Logged] = field(default_factory=list)
    ticks: list[tuple[float, str]] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    bar_height: float = _BAR
    top: float = _TOP
    left: float = _LEFT
    right: float = _RIGHT


def strip(day: DayResult, zone: tzinfo) -> Strip | None:
    """The drawing, or None where nothing was filmed."""
    if not day.clips:
        return None
    begins = {clip.name: corrected(clip, day.clocks) for clip in day.clips}
    first = min(begins.values())
    last = max(begins[c.name] + timedelta(seconds=c.duration) for c in day.clips)
    times = [e.time for e in day.log if e.time and first - timedelta(hours=2) < e.time < last + timedelta(hours=2)]
    covered = [(begins[c.name], begins[c.name] + timedelta(seconds=c.duration)) for c in day.clips]
    across = Scale(covered, times, _LEFT, _RIGHT)

    cameras = list(dict.fromkeys(c.camera for c in sorted(day.clips, key=lambda c: (begins[c.name], c.name))))
    told = day.settings
    rows = [
        Row(outgoing(camera, told), _clock(camera, day), _TOP + i * _ROW + 12, _label(outgoing(camera, told)))
        for i, camera in enumerate(cameras)
    ]
    at_row = {camera: row.y for camera, row in zip(cameras, rows, strict=True)}
    log_y = _TOP + len(rows) * _ROW + 34
    drawn = Strip(height=log_y + 58 if day.log else log_y - 14, log_y=log_y, rows=rows)
    drawn.clocks = [(row.camera, row.clock) for row in rows]
    own = {k.clip: k for k in day.clocks if k.clip in begins and day.log}
    drawn.clocks += [(outgoing(c.name, told), said_offset(own[c.name])) for c in day.clips if c.name in own]
    drawn.bars = [_bar(c, begins[c.name], day, across, at_row[c.camera], zone) for c in day.clips]
    near = set(times)
    at_log = {e.find: across(e.time) for e in day.log if e.time and e.time in near}
    drawn.marks = [_mark(m, begins, across, day, at_row, at_log, log_y) for m in day.moments if m.clip in begins]
    drawn.logged = _logged(day, at_log)
    drawn.ticks = across.ticks(zone)
    drawn.gaps = across.gaps()
    return drawn


def corrected(clip: Clip, clocks: Sequence[Clock]) -> datetime:
    """When the clip begins by the log's clock."""
    clock = clock_of(clip, clocks)
    return clip.start + timedelta(seconds=clock.offset_s) if clock else clip.start


def clock_of(clip: Clip, clocks: Sequence[Clock]) -> Clock | None:
    """The clip's own clock, else its camera's."""
    own = next((k for k in clocks if k.clip == clip.name), None)
    return own or next((k for k in clocks if k.clip is None and k.camera == clip.camera), None)


def said_offset(clock: Clock) -> str:
    """A clock's offset in words."""
    if not clock.known:
        off = f": it may be {_amount(clock.error_s)} off" if clock.error_s is not None else ""
        return f"clock not known{off}; where its clips stand is a guess"
    if not clock.pairs and not clock.tied_to:
        return _TAKEN_AS_RIGHT
    seconds = round(abs(clock.offset_s))
    way = "slow" if clock.offset_s > 0 else "fast"
    amount = _amount(clock.offset_s)
    if not clock.pairs:
        head = "clock agrees with the log" if seconds == 0 else f"clock {amount} {way}"
        return f"{head}, by what another camera heard too"
    sure = f", give or take {clock.error_s:.0f} s" if clock.error_s is not None else ""
    head = "clock agrees with the log" if seconds == 0 else f"clock {amount} {way}"
    return f"{head}{sure}, by {clock.pairs} find{'s' if clock.pairs != 1 else ''}"


def _amount(offset: float) -> str:
    seconds = round(abs(offset))
    if seconds < 120:
        return f"{seconds} s"
    return f"{seconds // 60} min {seconds % 60} s" if seconds < 7200 else f"{seconds / 3600:.0f} hours"


def _label(camera: str) -> str:
    """As much of a camera's name as there is room for beside its row."""
    return camera if len(camera) <= _NAME else f"{camera[: _NAME - 1].rstrip()}…"


def _clock(camera: str, day: DayResult) -> str:
    if not day.log:
        return _TAKEN_AS_RIGHT
    clocks = day.clocks
    clock = next((k for k in clocks if k.camera == camera and k.clip is None), None)
    return said_offset(clock) if clock else "clock not compared with the log"


def _bar(clip: Clip, begin: datetime, day: DayResult, across: Across, y: float, zone: tzinfo) -> Bar:
    x = across(begin)
    width = max(round(across(begin + timedelta(seconds=clip.duration)) - x, 2), 2.0)
    minutes = clip.duration / 60
    says = f"{outgoing(clip.name, day.settings)}, from {begin.astimezone(zone):%H:%M}, {minutes:.0f} min"
    clock = clock_of(clip, day.clocks)
    unknown = bool(day.log) and clock is not None and not clock.known
    says += "; its clock is not known" if unknown else ""
    return Bar(outgoing(clip.name, day.settings), says, x, y, width, _speech(clip, day, x, y, width), unknown)


def _speech(clip: Clip, day: DayResult, x: float, y: float, width: float) -> str:
    """Upright strokes from the bar's foot, one a bin, as tall as the talk in it is dense."""
    bins = max(int(width / _BIN), 1)
    counts = [0] * bins
    for segment in _by_clip(day.transcript).get(clip.name, ()):
        for word in segment.words:
            counts[min(int(word.start / max(clip.duration, 0.001) * bins), bins - 1)] += 1
    each = clip.duration / bins
    strokes = []
    for index, count in enumerate(counts):
        if count:
            tall = min(count / each / _LOUDEST_WORDS_PER_S, 1.0) * (_BAR - 10) + 2
            strokes.append(f"M{x + (index + 0.5) * width / bins:.1f} {y + _BAR:.1f}v{-tall:.1f}")
    return "".join(strokes)


@once_for_the_same
def _by_clip(transcript: Transcript) -> dict[str, list[Segment]]:
    found: dict[str, list[Segment]] = {}
    for segment in transcript.segments:
        found.setdefault(segment.clip, []).append(segment)
    return found


def _mark(
    moment: Moment,
    begins: dict[str, datetime],
    across: Across,
    day: DayResult,
    at_row: dict[str, float],
    at_log: dict[str, float],
    log_y: float,
) -> Mark:
    x = across(begins[moment.clip] + timedelta(seconds=moment.start))
    y = at_row[next(c.camera for c in day.clips if c.name == moment.clip)]
    tie = ""
    if moment.find in at_log and moment.stance.value in {"found", "unsure", "earlier"}:
        to = at_log[moment.find]
        middle = (y + _BAR + log_y) / 2
        tie = f"M{x:.1f} {y + _BAR:.1f}C{x:.1f} {middle:.1f} {to:.1f} {middle:.1f} {to:.1f} {log_y - 5:.1f}"
    return Mark(moment.id, _says(moment, day.settings), x, y, moment.stance.value, tie)


def _says(moment: Moment, settings: Settings) -> str:
    return f"{label(moment, settings) or 'unnamed'} ({moment.stance.value})"


def _logged(day: DayResult, at_log: dict[str, float]) -> list[Logged]:
    lasts = [-1e9, -1e9, -1e9]
    unfilmed = set(day.matched.unfilmed)
    found = []
    for find, x in sorted(at_log.items(), key=lambda pair: (pair[1], pair[0])):
        level = next((i for i, last in enumerate(lasts) if x - last >= _APART), lasts.index(min(lasts)))
        lasts[level] = x
        entry = day.entries[find]
        found.append(
            Logged(
                one_line(find),
                outgoing(f"find {find}: {entry.object or 'no name'}", day.settings),
                x,
                level,
                find not in unfilmed,
            )
        )
    return found
