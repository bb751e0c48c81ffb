"""Clocks from pairs, pairs from clocks, round after round until both stand still."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import exp
from typing import TYPE_CHECKING

from episode.matching.clocks import FIRST_SPREAD_S, Timing, measure, unknown_clock
from episode.matching.meaning import Meaning
from episode.matching.pairing import Pairing, Table
from episode.matching.times import RowTimes, time_evidence
from episode.matching.voting import Mode, log_prior, modes
from episode.models import StartFrom

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_ROUNDS = 8
_TRY_WITHIN = 12.0
"""Offsets this much less likely (nats) than the best vote are not tried."""
_HAND = 30.0
_APART_S = 120.0
_SPLIT_GAIN = 2.0
_SPLIT_PRIOR = {True: -3.0, False: -12.0}
_SPLIT_PAIRS = {True: 2, False: 4}
_LEAST_CHANCE = 0.3


class Rounds:
    """The search for clocks and pairs that fit each other."""

    def __init__(self, table: Table, meaning: Meaning, rows: RowTimes, cameras: Sequence[tuple[str, float]]) -> None:
        """``cameras`` are names with the first second (since 1970) of each one's footage."""
        import numpy as np

        self._table, self._rows = table, rows
        self._evidence = np.array(meaning.evidence)
        for find, row in table.by_hand.items():
            self._evidence[find, :] = -_HAND
            if row is not None:
                self._evidence[find, row] = _HAND
        self.groups = [find.group for find in table.finds]
        self.camera_at: NDArray[np.float64] = np.array([find.camera_at for find in table.finds], dtype=float)
        self.timings = [unknown_clock(name, None, first, "") for name, first in cameras]
        self._rivals: dict[int, tuple[float, float]] = {}

    def settle(self) -> Pairing:
        """Choose each camera's offset, split off clips with a date of their own, and refine to a fixed point."""
        import numpy as np

        if np.isnan(self._rows.when).all():
            return self._table.pair(*self._now())
        for group in sorted(range(len(self.timings)), key=lambda g: (-self.groups.count(g), g)):
            self._choose(group)
        pairing = self._refine()
        if self._split_clips():
            pairing = self._refine()
        self._say_doubts()
        return pairing

    def named_at(self) -> NDArray[np.float64]:
        """The finds' times on the log's clock."""
        import numpy as np

        known = zip(self.groups, self.camera_at.tolist(), strict=True)
        return np.array([self.timings[g].on_log(at) if g >= 0 else float("nan") for g, at in known], dtype=float)

    @property
    def minutes(self) -> bool:
        """Whether the log gives times to the minute only."""
        return self._rows.minutes

    def _now(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        import numpy as np

        named = self.named_at()
        doubt = [float(np.hypot(t.spread, (t.clock.error_s or 0.0) / 2)) for t in self.timings]
        spread = np.array([doubt[g] if g >= 0 else FIRST_SPREAD_S for g in self.groups], dtype=float)
        if not len(named) or not len(self._rows.when):
            return self._evidence, named
        return self._evidence + time_evidence(named, self._rows, spread), named

    def _members(self, group: int) -> list[int]:
        members = [i for i, g in enumerate(self.groups) if g == group and self.camera_at[i] == self.camera_at[i]]
        trusted = [i for i in members if not self._doubtful(i)]
        return trusted or members

    def _doubtful(self, find: int) -> bool:
        clip = self._table.finds[find].clip
        return clip is not None and clip.start_from is StartFrom.MODIFIED

    def _modes(self, members: Sequence[int], extra: Sequence[float] = ()) -> list[Mode]:
        return modes(
            self.camera_at[list(members)],
            self._rows.when,
            self._evidence[list(members)],
            span=self._rows.span,
            share=len(members) / max(1, len(self.groups)),
            extra=extra,
        )

    def _choose(self, group: int) -> None:
        """Try the likeliest offsets on the whole alignment and keep the best; remember the runner-up."""
        tried: list[tuple[float, float]] = []
        proposals = self._modes(self._members(group))
        for mode in proposals:
            if mode.score < proposals[0].score - _TRY_WITHIN:
                continue
            self._set_offset(group, mode.offset)
            tried.append((self._table.evidence(*self._now()) + mode.prior, mode.offset))
        tried.sort(key=lambda t: (-t[0], abs(t[1]), t[1]))
        self._set_offset(group, tried[0][1])
        if len(tried) > 1:
            self._rivals[group] = (tried[1][1], tried[1][0] - tried[0][0])

    def _set_offset(self, group: int, offset: float) -> None:
        timing = self.timings[group]
        clock = timing.clock.model_copy(update={"offset_s": offset})
        self.timings[group] = replace(timing, clock=clock)

    def _refine(self) -> Pairing:
        """Measure clocks and pair again, until the pairs stay the same."""
        seen: set[tuple[tuple[int, int], ...]] = set()
        pairing = self._table.pair(*self._now())
        for _ in range(MOST_ROUNDS):
            state = tuple((pair.find, pair.row) for pair in pairing.pairs)
            self._measure(pairing)
            pairing = self._table.pair(*self._now())
            if state in seen:
                break
            seen.add(state)
        return pairing

    def _measure(self, pairing: Pairing) -> None:
        import numpy as np

        for group, timing in enumerate(self.timings):
            usable = [
                pair
                for pair in pairing.pairs
                if self.groups[pair.find] == group
                and pair.confidence >= _LEAST_CHANCE
                and not np.isnan(self._rows.when[pair.row])
                and not np.isnan(self.camera_at[pair.find])
            ]
            firm = [pair for pair in usable if not self._rows.batch[pair.row] or pair.by_hand] or usable
            if firm:
                self.timings[group] = measure(
                    timing,
                    [float(self.camera_at[pair.find]) for pair in firm],
                    [float(self._rows.when[pair.row]) for pair in firm],
                    [3.0 if pair.by_hand else pair.confidence for pair in firm],
                )
            else:
                self._unmeasured(group)

    def _unmeasured(self, group: int) -> None:
        timing = self.timings[group]
        clock = timing.clock.model_copy(
            update={"offset_s": 0.0, "drift_ppm": 0.0, "pairs": 0, "error_s": None, "basis": ""}
        )
        self.timings[group] = Timing(clock, timing.reference)

    def _split_clips(self) -> bool:
        """Give a clip its own clock where its finds fit the log only at another offset than its camera's."""
        split = False
        clips = list(dict.fromkeys((f.group, f.clip.name) for f in self._table.finds if f.clip is not None))
        for group, name in clips:
            inside = [i for i, f in enumerate(self._table.finds) if f.clip is not None and f.clip.name == name]
            inside = [i for i in inside if not _isnan(self.camera_at[i])]
            others = [i for i, g in enumerate(self.groups) if g == group and i not in inside]
            if others and inside and len(inside) >= _SPLIT_PAIRS[self._doubtful(inside[0])]:
                split |= self._try_split(group, name, inside)
        return split

    def _try_split(self, group: int, name: str, inside: list[int]) -> bool:
        doubtful = self._doubtful(inside[0])
        here = self.timings[group].clock
        before = self._table.evidence(*self._now())
        own = unknown_clock(here.camera, name, min(float(self.camera_at[i]) for i in inside), "", here.offset_s)
        kept = list(self.groups)
        self.timings.append(own)
        fresh = len(self.timings) - 1
        for i in inside:
            self.groups[i] = fresh
        best: tuple[float, float] | None = None
        for mode in self._modes(inside, extra=(here.offset_s,)):
            if abs(mode.offset - here.offset_s) <= _APART_S:
                continue
            self._set_offset(fresh, mode.offset)
            gain = self._table.evidence(*self._now()) - before + _SPLIT_PRIOR[doubtful]
            # Next to its camera's clock, a whole hour or day is as odd as anything; far-off dates are the rule.
            gain += 0.5 * (log_prior(mode.offset - here.offset_s) - log_prior(0.0)) if not doubtful else 0.0
            if best is None or gain > best[0]:
                best = (gain, mode.offset)
        if best is not None and best[0] > _SPLIT_GAIN:
            self._set_offset(fresh, best[1])
            pairs = [p for p in self._table.pair(*self._now()).pairs if p.find in inside and p.in_order]
            if len(pairs) >= _SPLIT_PAIRS[doubtful]:
                return True
        self.groups[:] = kept
        self.timings.pop()
        return False

    def _say_doubts(self) -> None:
        """Widen the interval where another offset is nearly as likely, and say so."""
        for group, (rival, behind) in self._rivals.items():
            timing = self.timings[group]
            chance = exp(min(0.0, behind)) / (1.0 + exp(min(0.0, behind)))
            gap = abs(rival - timing.clock.offset_s)
            if chance > 0.05 and gap > _APART_S / 2 and timing.clock.pairs:
                clock = timing.clock.model_copy(
                    update={
                        "error_s": round(max(timing.clock.error_s or 0.0, gap), 2),
                        "basis": timing.clock.basis + f"; {rival:+.0f} s would fit nearly as well",
                    }
                )
                self.timings[group] = replace(timing, clock=clock)


def _isnan(value: float) -> bool:
    return bool(value != value)  # noqa: PLR0124 - the definition of nan
