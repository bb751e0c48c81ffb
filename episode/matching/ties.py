"""What ties of sound say of the cameras' clocks: which belong together, how far apart they are, which ties are wrong."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from episode.matching.clocks import Link
from episode.matching.wall import epoch
from episode.models import Clip, Problem, StartFrom, Tie

_WHOLE_SECOND_S = 0.29
"""Standard error of a start that is given in whole seconds (a second over the root of 12)."""
_FINE_S = 0.02
_LEAST_ERROR_S = 0.002
_AGREE_S = 2.5
_AGREE_PPM = 300.0
"""Two ties of the same cameras agree within what whole seconds and two clocks' drift can do."""


@dataclass(frozen=True)
class Strand:
    """All ties between two clocks that agree. ``apart`` is ``other``'s offset less ``one``'s, in seconds."""

    one: int
    other: int
    apart: float
    ties: tuple[Tie, ...]
    links: tuple[Link, ...]


@dataclass(frozen=True)
class Web:
    """``strands`` without contradiction; ``alone`` names clips whose own date must be wrong; ``problems`` in words."""

    strands: tuple[Strand, ...]
    alone: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()

    def bodies(self, count: int) -> list[dict[int, float]]:
        """Clocks that move as one: each clock's offset less that of the body's first, ties followed as chains."""
        bodies = [{g: 0.0} for g in range(count)]
        for strand in self.strands:
            here = next(b for b in bodies if strand.one in b)
            there = next(b for b in bodies if strand.other in b)
            if here is there:
                continue
            shift = here[strand.one] + strand.apart - there[strand.other]
            here.update({g: rel + shift for g, rel in there.items()})
            bodies.remove(there)
        return [_from_first(body) for body in bodies]


def weave(ties: Sequence[Tie], clips: Sequence[Clip], group_of: Mapping[str, int]) -> Web:
    """Sort ties into strands that agree; ``group_of`` gives each clip's clock.

    The ties of two cameras vote: the largest set that agrees is kept, the rest is said to contradict it. A clip
    with only a modification time that contradicts its camera is taken to have a date of its own. Chains that
    close a circle must meet: the weakest strand of a circle that does not is left out and said.
    """
    known = {clip.name: clip for clip in clips}
    readings: dict[tuple[int, int], list[_Reading]] = {}
    for tie in ties:
        if tie.clip not in known or tie.other not in known:
            continue
        reading = _read(tie, known[tie.clip], known[tie.other], group_of)
        if reading is not None:
            readings.setdefault((reading.link.one, reading.link.other), []).append(reading)
    alone: dict[str, None] = {}
    problems: list[Problem] = []
    strands: list[Strand] = []
    for (one, other), inside in sorted(readings.items()):
        kept = _majority(inside)
        for reading in inside:
            if reading in kept:
                continue
            loose = [name for name in (reading.tie.clip, reading.tie.other) if _loose(known[name])]
            if loose and not all(_loose(known[r.tie.clip]) or _loose(known[r.tie.other]) for r in kept):
                alone.update(dict.fromkeys(loose))
            else:
                problems.append(_contradicts(reading.tie, kept[0].tie, reading.apart - kept[0].apart))
        middle = sorted(r.apart for r in kept)[len(kept) // 2]
        strands.append(Strand(one, other, middle, tuple(r.tie for r in kept), tuple(r.link for r in kept)))
    sound, more = _close_circles(strands)
    return Web(tuple(sound), tuple(alone), (*problems, *more))


def without(web: Web, strand: Strand) -> Web:
    """The web with one strand cut."""
    return Web(tuple(s for s in web.strands if s is not strand), web.alone, web.problems)


@dataclass(frozen=True)
class _Reading:
    tie: Tie
    link: Link
    apart: float
    span: float


def _read(tie: Tie, clip: Clip, other: Clip, group_of: Mapping[str, int]) -> _Reading | None:
    one, two = group_of[clip.name], group_of[other.name]
    if one == two:
        return None
    first = max(0.0, -tie.shift_s)
    last = max(first, min(clip.duration, other.duration - tie.shift_s))
    middle = (first + last) / 2
    shared = tie.overlap_s or max(last - first, 1.0)
    at = epoch(clip.start) + middle
    there = epoch(other.start) + middle * (1 + tie.drift_ppm * 1e-6) + tie.shift_s
    sound = max(tie.error_s / 1.96, _LEAST_ERROR_S)
    error = (sound**2 + _start_error(clip) ** 2 + _start_error(other) ** 2) ** 0.5
    # A line through points spread evenly over a stretch: its slope is known to sqrt(12) of its middle's error.
    slope = sound * 12**0.5 / max(shared, 1.0) * 1e6
    if one > two:
        link = Link(two, one, there, at, error, -tie.drift_ppm, slope)
    else:
        link = Link(one, two, at, there, error, tie.drift_ppm, slope)
    return _Reading(tie, link, link.one_at - link.other_at, link.one_at)


def _start_error(clip: Clip) -> float:
    return _WHOLE_SECOND_S if clip.start.microsecond == 0 else _FINE_S


def _loose(clip: Clip) -> bool:
    return clip.start_from is StartFrom.MODIFIED


def _majority(readings: Sequence[_Reading]) -> list[_Reading]:
    """The largest set that agrees with one of its own; the longer overlap decides between equals."""

    def company(middle: _Reading) -> list[_Reading]:
        return [r for r in readings if abs(r.apart - middle.apart) <= _AGREE_S + _drifted(r, middle)]

    sets = [company(reading) for reading in readings]
    return max(sets, key=lambda found: (len(found), sum(r.tie.overlap_s for r in found)))


def _drifted(one: _Reading, other: _Reading) -> float:
    return _AGREE_PPM * 1e-6 * min(abs(one.span - other.span), 1e6)


def _close_circles(strands: Sequence[Strand]) -> tuple[list[Strand], list[Problem]]:
    """Strands from the strongest on; one that closes a circle must meet it."""
    sound: list[Strand] = []
    problems: list[Problem] = []
    for strand in sorted(strands, key=lambda s: (-len(s.ties), -sum(t.overlap_s for t in s.ties), s.one, s.other)):
        count = 1 + max(max(s.one, s.other) for s in strands)
        body = next(b for b in Web(tuple(sound)).bodies(count) if strand.one in b)
        if strand.other in body:
            gap = strand.apart - (body[strand.other] - body[strand.one])
            # Days are long: drift over one may open a circle by some seconds.
            if abs(gap) > 3 * _AGREE_S:
                problems.extend(_contradicts(tie, None, gap) for tie in strand.ties)
                continue
        sound.append(strand)
    return sorted(sound, key=lambda s: (s.one, s.other)), problems


def _contradicts(tie: Tie, other: Tie | None, gap: float) -> Problem:
    than = f"that of {other.clip} and {other.other}" if other else "the other ties of these cameras, taken together"
    return Problem(
        where=f"{tie.clip} and {tie.other}",
        what=f"their sound ties them {abs(gap):.1f} s apart from {than}; this tie was left out",
        remedy="Listen to both: if they did record the same talk, the start of one of the clips is wrong.",
        level="note",
    )


def disowned(strand: Strand, gap: float) -> Problem:
    """What to say of a strand that the log speaks against."""
    tie = strand.ties[0]
    return Problem(
        where=f"{tie.clip} and {tie.other}",
        what=f"their sound would set the clocks {abs(gap):.0f} s apart from what the log says; this tie was left out",
        remedy="Listen to both: if they did record the same talk, look at the log's times around them.",
        level="note",
    )


def _from_first(body: dict[int, float]) -> dict[int, float]:
    first = min(body)
    return {g: body[g] - body[first] for g in sorted(body)}
